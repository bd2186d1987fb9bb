package tables

// PinStandard returns the designation of a pin standard's word in files:
// "ISO 2338" for "iso2338"; "" for a word that is none.
func PinStandard(word string) string { return pinStandards[word] }
