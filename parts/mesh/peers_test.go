package mesh_test

import (
	"os"
	"strings"
	"testing"
)

// Peers stay out of the program: of the pinned model3d, model2d.EliminateColinear
// may loop for ever and constructors panic on bad bounds. Only the benchmark
// modules, which are modules of their own, may need it.
func TestPeersAreNoDependency(t *testing.T) {
	for _, name := range []string{"../../go.mod", "../../go.sum"} {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), "model3d") {
			t.Errorf("%s names model3d", name)
		}
	}
}
