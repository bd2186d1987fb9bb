package page

import (
	"slices"
	"strings"
	"testing"
)

func TestReadMeasured(t *testing.T) {
	for text, want := range map[string][]float64{
		"s [mm],force [N]\r\n0,0\r\n1.5,-2e0\r\n":                 {0, 0, 1.5, -2},
		"\ufefftime;force (N);s (mm)\n0;1;2\n1;3;4\n":             {2, 1, 4, 3},
		"# bench 3\n\n0 1\n2 3\n4 5\n":                            {0, 1, 2, 3, 4, 5},
		"s\tforce\n0\t1\n1\t2":                                    {0, 1, 1, 2},
		"half,\"s [mm]\",\"slide_force [N]\"\nout,1,2\nout,3,4\n": {1, 2, 3, 4},
	} {
		m, err := ReadMeasured("t.csv", strings.NewReader(text))
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		var got []float64
		for i := range m.S {
			got = append(got, m.S[i], m.Force[i])
		}
		if !slices.Equal(got, want) {
			t.Errorf("%q: %v, want %v", text, got, want)
		}
	}
	for text, want := range map[string]string{
		"":                  "t.csv: has 0 rows of numbers, a curve takes two",
		"a,b\n1,2\n":        `t.csv:1: the names "a,b" hold no column s and no column force`,
		"0,1\n1\n":          "t.csv:2: has 1 columns, 2 are needed",
		"0,1\n\n1,x\n":      `t.csv:3: "x" in column 2 is not a number; decimals take a point`,
		"0;1,5\n1;2,5\n":    `t.csv:1: "1,5" in column 2 is not a number; decimals take a point`,
		"0,1\n1,Inf\n2,3\n": `t.csv:2: "Inf" in column 2 is not a number; decimals take a point`,
	} {
		if _, err := ReadMeasured("t.csv", strings.NewReader(text)); err == nil || err.Error() != want {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}
