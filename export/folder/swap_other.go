//go:build !linux && !darwin

package folder

func exchange(a, b string) error { return errNoExchange }
