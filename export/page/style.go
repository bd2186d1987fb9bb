package page

// Style returns the style sheet of text, tables and colours that all pages
// share.
func Style() (string, error) { return gather("base.css", "dark-print.css") }
