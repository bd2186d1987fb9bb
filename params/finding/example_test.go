package finding_test

import (
	"fmt"

	"tuckfinger/params/finding"
)

func ExampleAtLeast() {
	f, err := finding.AtLeast(finding.Finding{
		Check: "wall", Subject: "jaw", Value: 0.3, Limit: 0.8, Unit: "mm",
		Change: "thicken dimensions.rail", Source: "printers.fdm-0.4.minimum",
	}, 0.2)
	fmt.Println(f, err)
	// Output:
	// fail  wall  jaw: 0.30 mm, at least 0.80 mm — thicken dimensions.rail <nil>
}
