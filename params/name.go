package params

import "fmt"

// CheckName reports a finger name that can't become part of file names.
func CheckName(name string) error {
	const allowed = "use small letters, digits and hyphens, starting with a letter"
	if name == "" {
		return fmt.Errorf("the name is empty; %s", allowed)
	}
	for i, r := range name {
		small := r >= 'a' && r <= 'z'
		if !(small || i > 0 && (isDigit(r) || r == '-')) {
			return fmt.Errorf("%q cannot be part of file names; %s", name, allowed)
		}
	}
	if len(name) > 60 {
		return fmt.Errorf("is too long for file names; at most 60 characters are allowed")
	}
	return nil
}
