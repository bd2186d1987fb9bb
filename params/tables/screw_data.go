package tables

// screwLengths are the nominal lengths of ISO 4762, mm (from memory).
var screwLengths = []float64{2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60}

// screws lists the threads M2 to M6 of the ISO coarse series.
func screws() Table[Screw] {
	const (
		insertSrc = CommonPractice + "; pilot hole of one published set, others model it 0.2 mm larger; boss twice the insert"
		recalled  = FromMemory
	)
	lengths := func(shortest, most float64) *Lengths {
		return &Lengths{List: between(screwLengths, shortest, most), Source: recalled + " (ISO 4762)"}
	}
	return fresh([]Screw{
		{
			Name: "M2", Thread: &Thread{2, 0.4, recalled + " (ISO 261)"},
			Head: &Head{3.8, 2, 1.5, 1, "ISO 4762"}, Lengths: lengths(3, 20),
			Clearance: &Clearance{2.2, 2.4, 2.6, "ISO 273"}, Washer: &Washer{2.2, 5, 0.3, "ISO 7089"},
			Nut: &Nut{4, 1.6, 4.32, "ISO 4032; width across corners " + recalled},
		},
		{
			Name: "M2.5", Thread: &Thread{2.5, 0.45, recalled + " (ISO 261)"},
			Head: &Head{4.5, 2.5, 2, 1.1, "ISO 4762"}, Lengths: lengths(4, 25),
			Clearance: &Clearance{2.7, 2.9, 3.1, "ISO 273"}, Washer: &Washer{2.7, 6, 0.5, "ISO 7089"},
			Nut: &Nut{5, 2, 5.45, "ISO 4032; width across corners " + recalled},
		},
		{
			Name: "M3", Thread: &Thread{3, 0.5, recalled + " (ISO 261)"},
			Head: &Head{5.5, 3, 2.5, 1.3, "ISO 4762"}, Lengths: lengths(5, 30),
			Clearance: &Clearance{3.2, 3.4, 3.6, "ISO 273"}, Washer: &Washer{3.2, 7, 0.5, "ISO 7089"},
			Nut: &Nut{5.5, 2.4, 6.01, "ISO 4032"}, LockNut: &Nut{5.5, 3.9, 6.01, "ISO 10511"},
			Insert: &Insert{Pilot: 4.0, Tolerance: 0.1, Outer: 4.6, Length: 5.7, Boss: 9.2, Source: insertSrc},
		},
		{
			Name: "M4", Thread: &Thread{4, 0.7, recalled + " (ISO 261)"},
			Head: &Head{7, 4, 3, 2, "ISO 4762"}, Lengths: lengths(6, 40),
			Clearance: &Clearance{4.3, 4.5, 4.8, "ISO 273"}, Washer: &Washer{4.3, 9, 0.8, "ISO 7089"},
			Nut: &Nut{7, 3.2, 7.66, "ISO 4032"}, LockNut: &Nut{7, 5, 7.66, "ISO 10511"},
			Insert: &Insert{Pilot: 5.6, Tolerance: 0.1, Outer: 6.3, Length: 8.1, Boss: 12.6, Source: insertSrc},
		},
		{
			Name: "M5", Thread: &Thread{5, 0.8, recalled + " (ISO 261)"},
			Head: &Head{8.5, 5, 4, 2.5, "ISO 4762"}, Lengths: lengths(8, 50),
			Clearance: &Clearance{5.3, 5.5, 5.8, "ISO 273"}, Washer: &Washer{5.3, 10, 1, "ISO 7089"},
			Nut: &Nut{8, 4.7, 8.79, "ISO 4032"}, LockNut: &Nut{8, 5, 8.79, "ISO 10511"},
			Insert: &Insert{Pilot: 6.4, Tolerance: 0.1, Outer: 7.1, Length: 9.5, Boss: 14.2, Source: insertSrc},
		},
		{
			Name: "M6", Thread: &Thread{6, 1, recalled + " (ISO 261)"},
			Head: &Head{10, 6, 5, 3, "ISO 4762"}, Lengths: lengths(10, 60),
			Clearance: &Clearance{6.4, 6.6, 7, "ISO 273"}, Washer: &Washer{6.4, 12, 1.6, "ISO 7089"},
			Nut: &Nut{10, 5.2, 11.05, "ISO 4032"}, LockNut: &Nut{10, 6, 11.05, "ISO 10511"},
			Insert: &Insert{Pilot: 8.0, Tolerance: 0.1, Outer: 8.7, Length: 12.7, Boss: 17.4, Source: insertSrc},
		},
	}, func(s *Screw) string { return s.Name })
}
