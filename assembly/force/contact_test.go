package force

import (
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tuckfinger/params"
	"tuckfinger/parts"
)

// TestContactIsThePrintedWall compares the path of the pin's centre that is an
// offset of the printed wall with the analytic one of package force, for the
// reference ramp and random ones.
func TestContactIsThePrintedWall(t *testing.T) {
	rng := rand.New(rand.NewSource(4))
	deg := math.Pi / 180
	for i := range 200 {
		u := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
		b := parts.Bump{Height: u(0.4, 1.6), First: u(20, 75) * deg, Last: u(8, 45) * deg, Radius: u(0.1, 0.4)}
		r := u(0.8, 2.5)
		if i == 0 {
			b, r = parts.Bump{Height: 1, First: 45 * deg, Last: 15 * deg, Radius: 0.3}, 1.5
		}
		if b.Check() != nil {
			continue
		}
		edges, err := b.Contact(r, 3*r)
		if err != nil {
			t.Fatalf("%+v, pin radius %g: %v", b, r, err)
		}
		got, err := NewGraph(edges)
		if err != nil {
			t.Fatalf("%+v, pin radius %g: %v", b, r, err)
		}
		want, err := Bump{Height: b.Height, Steep: b.First, Shallow: b.Last, PeakRadius: b.Radius}.Curve(r)
		if err != nil {
			t.Fatal(err)
		}
		first, last, err := b.Faces(r)
		if err != nil {
			t.Fatal(err)
		}
		steep, shallow, err := Bump{Height: b.Height, Steep: b.First, Shallow: b.Last, PeakRadius: b.Radius}.Remains(r)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range []struct {
			got  parts.Face
			want Face
		}{{first, steep}, {last, shallow}} {
			near(t, "rise that is left", f.got.Rise, f.want.Rise, 1e-9)
			near(t, "run that is left", f.got.Run, f.want.Run, 1e-9)
			near(t, "printed rise", f.got.Printed, f.want.Printed, 1e-9)
			near(t, "steepest angle", f.got.Angle, f.want.Angle, 1e-6)
		}
		lo, hi := want.Span()
		for k := range 101 {
			x := lo + (hi-lo)*(float64(k)+0.5)/101
			h, s := got.At(x)
			h1, s1 := want.At(x)
			near(t, "height", h, h1, 1e-9)
			near(t, "slope", s, s1, 1e-6)
		}
	}
}

// The hook of a clip, before it bends, is touched where the printed one is: the
// offset of its outline by the post's radius.
func TestHookIsThePrintedOne(t *testing.T) {
	arm := params.Arm{Length: 11, Height: 0.9, Nose: 0.2, Entry: deg(15), Retention: deg(52)}
	hook := parts.Hook(&arm)
	const radius = 0.75
	edges, err := hook.Contact(radius, 2)
	if err != nil {
		t.Fatal(err)
	}
	path, err := NewGraph(edges)
	if err != nil {
		t.Fatal(err)
	}
	l, err := Clip{Arm: Arm{Material: Material{E: 1800, Nu: .38}, Length: arm.Length, Thickness: 1.4, TipThickness: 1.4, Width: 4, Fillet: .5},
		Hook: hook.Height, Nose: hook.Radius, Entry: hook.First, Retention: hook.Last, Post: Post{Radius: radius}}.Law(AllTerms)
	if err != nil {
		t.Fatal(err)
	}
	from, to := path.Span()
	seen := 0
	for i := range 60 {
		x := from + (to-from)*(float64(i)+0.5)/60
		h, _ := path.At(x)
		if h < 1e-9 {
			continue // the arm itself, which the law leaves to SurfaceGap
		}
		clear := func(y float64) bool {
			return !l.At(Place{P: r2.Vec{X: arm.Length + x, Y: l.inner + radius + y}}, Resting).Touching
		}
		near(t, "height of the post's centre", bisect(clear, h+1, h-0.2), h, 1e-7)
		seen++
	}
	if seen < 30 {
		t.Errorf("%d places on the hook", seen)
	}
}

// Along a steep retention face the places at which a post locks are one stretch: past
// the lock there are states of an arm that is drawn towards the post, which no post
// comes to.
func TestLockedPlacesAreOneStretch(t *testing.T) {
	locked := 0
	for _, retention := range []float64{66, 72, 80, 84, 88} {
		for mu := .14; mu < .4; mu += .02 {
			c := referenceClip(RootFirst)
			c.Retention, c.Mu = deg(retention), mu
			l := mustClip(t, c, AllTerms)
			changes, was := 0, false
			for x := l.Peak().X + 2.5; x > l.Peak().X; x -= .001 {
				s := l.At(Place{P: r2.Vec{X: x, Y: l.Peak().Y}}, Releasing)
				if s.Touching && s.Locked {
					locked++
				}
				if s.Touching && s.Locked != was {
					changes, was = changes+1, s.Locked
				}
			}
			if changes > 2 {
				t.Errorf("%g°, friction %.2f: locks and gives way by turns, %d changes", retention, mu, changes)
			}
		}
	}
	if locked == 0 {
		t.Error("no place locks")
	}
}
