package peers

import (
	"math"
	"os"
	"runtime"
	"sync"
	"testing"

	"github.com/unixpickle/model3d/model3d"
	"gonum.org/v1/gonum/spatial/r3"

	"tuckfinger/parts/mesh"
	"tuckfinger/parts/solid/internal/random"
)

// theirs gives a mesh to model3d, which joins corners with equal coordinates.
func theirs(m *mesh.Mesh) *model3d.Mesh {
	c := func(p r3.Vec) model3d.Coord3D { return model3d.XYZ(p.X, p.Y, p.Z) }
	out := model3d.NewMesh()
	for i := range m.Triangles {
		p, q, r := m.Corners(i)
		out.Add(&model3d.Triangle{c(p), c(q), c(r)})
	}
	return out
}

// The random parts of parts/solid judged by model3d: every edge between two
// triangles, nothing turned inside out, nothing passing through itself, the volume
// the same. TUCKFINGER_LONG=1 tests 2,000 parts.
func TestRandomPartsModel3d(t *testing.T) {
	n := uint64(100)
	if os.Getenv("TUCKFINGER_LONG") != "" {
		n = 2000
	}
	seeds := make(chan uint64)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for seed := range seeds {
				l, err := random.Part(seed)
				if err != nil {
					t.Errorf("seed %d: %v", seed, err)
					continue
				}
				if l.IsEmpty() {
					continue
				}
				m, _, err := l.Mesh(0.01)
				if err != nil {
					t.Errorf("seed %d: %v", seed, err)
					continue
				}
				o := theirs(m)
				if o.NeedsRepair() {
					t.Errorf("seed %d: needs repair", seed)
					continue
				}
				if _, n := o.RepairNormals(1e-9); n > 0 {
					t.Errorf("seed %d: %d triangles look inwards", seed, n)
				}
				if n := o.SelfIntersections(); n > 0 {
					t.Errorf("seed %d: %d self-intersections", seed, n)
				}
				if v := o.Volume(); math.Abs(v-m.Volume()) > 1e-9*v {
					t.Errorf("seed %d: volume %g mm³, ours is %g", seed, v, m.Volume())
				}
			}
		})
	}
	for seed := range n {
		seeds <- seed
	}
	close(seeds)
	wg.Wait()
}
