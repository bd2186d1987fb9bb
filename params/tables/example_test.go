package tables_test

import (
	"fmt"

	"tuckfinger/params/tables"
)

func ExampleLimits() {
	lower, upper, err := tables.Limits(3, "m6")
	fmt.Printf("3 m6: %+.3f to %+.3f mm, %v\n", lower, upper, err)
	_, _, err = tables.Limits(16, "H7")
	fmt.Println(err)
	// Output:
	// 3 m6: +0.002 to +0.008 mm, <nil>
	// size 16 mm: ISO 286 limits are tabulated from 1 to 10 mm
}

func ExampleTables_With() {
	var mine tables.Tables
	mine.Materials.Add("PETG", tables.Material{
		Modulus: &tables.Stress{Low: 1750, Typical: 1800, High: 1850, Source: "own coupons"},
	})
	all, err := tables.Builtin().With(mine)
	if err != nil {
		fmt.Println(err)
		return
	}
	petg, _ := all.Material("PETG")
	fmt.Println(petg.Modulus.Typical, "MPa:", petg.Modulus.Source)
	fmt.Println(petg.Density.Value, "g/cm³:", petg.Density.Source)
	// Output:
	// 1800 MPa: own coupons
	// 1.27 g/cm³: open printing profiles
}
