package params

import (
	"math"
	"reflect"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
	"gopkg.in/yaml.v3"
)

var (
	radiusKey = &Key{Name: "radius", Kind: Number, Required: true, Unit: "mm", Doc: "Distance from the origin."}
	angleKey  = &Key{Name: "angle", Kind: Number, Required: true, Unit: "deg", Doc: "Direction from the origin."}
	polarKey  = &Key{Kind: Group, Keys: []*Key{radiusKey, angleKey}, Doc: "Point by distance and direction."}
	spanKey   = schemaOf(reflect.TypeFor[LayerSpan]())
)

// isPolar reports whether a node is a mapping with a radius and no place.
func isPolar(n *yaml.Node) bool {
	if n.Kind != yaml.MappingNode {
		return false
	}
	polar := false
	for i := 0; i+1 < len(n.Content); i += 2 {
		switch n.Content[i].Value {
		case "at":
			return false
		case "radius", "angle":
			polar = true
		}
	}
	return polar
}

// point decodes [x, y] or {radius: r, angle: a}.
func (d *decoder) point(n *yaml.Node, k *Key, path string) (p r2.Vec, ok bool) {
	switch n.Kind {
	case yaml.SequenceNode:
		if len(n.Content) != 2 {
			d.out.errorf(d.src.at(n), path, "a point is [x, y], two numbers; this list has %d", len(n.Content))
			return p, false
		}
		coord := &Key{Kind: Number, Unit: "mm"}
		var x, y bool
		p.X, x = d.scalarAt(n.Content[0], coord, index(path, 0))
		p.Y, y = d.scalarAt(n.Content[1], coord, index(path, 1))
		d.gatherUses(path, 2)
		return p, x && y
	case yaml.MappingNode:
		given, good := d.pairs(n, polarKey, path)
		var r, a float64
		if c, has := given["radius"]; has {
			var okR bool
			r, okR = d.scalarAt(c, radiusKey, join(path, "radius"))
			good = good && okR
		}
		if c, has := given["angle"]; has {
			// sinCosDeg wants the file's degrees; number checks them.
			own := *angleKey
			own.Unit = "own"
			d.own = "deg"
			var okA bool
			a, okA = d.scalarAt(c, &own, join(path, "angle"))
			good = good && okA
		}
		d.mergeUses(path, join(path, "radius"), join(path, "angle"))
		sin, cos := sinCosDeg(a)
		return r2.Vec{X: r * cos, Y: r * sin}, good
	}
	return p, d.wrong(n, k, path)
}

// scalarAt decodes a number that has no struct field of its own.
func (d *decoder) scalarAt(n *yaml.Node, k *Key, path string) (float64, bool) {
	d.stands(path, d.src.at(n))
	if !d.usable(n, path) {
		return 0, false
	}
	if isEmpty(n) {
		d.out.errorf(d.src.at(n), path, "has no value; write %s", k.want())
		return 0, false
	}
	return d.number(n, k, path)
}

// pairs splits a small mapping with fixed keys, all of them required.
func (d *decoder) pairs(n *yaml.Node, k *Key, path string) (map[string]*yaml.Node, bool) {
	given := map[string]*yaml.Node{}
	keys := map[string]*yaml.Node{}
	taken := map[string]bool{}
	ok := true
	for i := 0; i+1 < len(n.Content); i += 2 {
		key := n.Content[i]
		name, good := d.keyName(key, path)
		switch {
		case !good:
			ok = false
		case keys[name] != nil:
			d.out.errorf(d.src.at(key), path, "%q is given twice; delete one", name)
			ok = false
		case k.Key(name) == nil:
			taken[d.unknown(key, k, path)] = true
			ok = false
		default:
			keys[name], given[name] = key, n.Content[i+1]
		}
	}
	return given, d.complete(d.src.at(n), k, keys, taken, path) && ok
}

// spot decodes a joint's name or a point. The point of a joint is filled in
// when all joints are known.
func (d *decoder) spot(n *yaml.Node, k *Key, path string) (s Spot, ok bool) {
	if n.Kind != yaml.ScalarNode {
		s.Point, ok = d.point(n, k, path)
		return s, ok
	}
	s.Joint, ok = d.text(n, &Key{Kind: Text, Ref: "joints", Required: true}, path)
	return s, ok
}

// span decodes a layer's name, a list of names or {from, to}.
func (d *decoder) span(n *yaml.Node, k *Key, path string) (s Span, ok bool) {
	name := &Key{Kind: Text, Ref: "layers", Required: true}
	switch n.Kind {
	case yaml.ScalarNode:
		l, good := d.text(n, name, path)
		s.Layers = []string{l}
		if !good {
			return s, false
		}
	case yaml.SequenceNode:
		if len(n.Content) == 0 {
			d.out.errorf(d.src.at(n), path, "the list of layers is empty; name at least one")
			return s, false
		}
		good := true
		for i, c := range n.Content {
			at := index(path, i)
			d.stands(at, d.src.at(c))
			l, okL := "", d.usable(c, at)
			if okL {
				l, okL = d.text(c, name, at)
			}
			if okL && slices.Contains(s.Layers, l) {
				d.out.errorf(d.src.at(c), at, "layer %q is named twice; delete one", l)
				okL = false
			}
			s.Layers = append(s.Layers, l)
			good = good && okL
		}
		if !good {
			return s, false
		}
	default:
		given, good := d.pairs(n, spanKey, path)
		for i, to := range []*float64{&s.From, &s.To} {
			c := spanKey.Keys[i]
			if v, has := given[c.Name]; has {
				var okV bool
				*to, okV = d.scalarAt(v, c, join(path, c.Name))
				good = good && okV
			}
		}
		d.mergeUses(path, join(path, "from"), join(path, "to"))
		if good && s.From >= s.To {
			d.out.errorf(d.origin.Pos[join(path, "to")], path, "is empty: to (%s mm) must be above from (%s mm)", trimNum(s.To), trimNum(s.From))
			return s, false
		}
		return s, good
	}
	return d.hull(s, path)
}

// hull fills in the z range of named layers.
func (d *decoder) hull(s Span, path string) (Span, bool) {
	s.From, s.To = math.Inf(1), math.Inf(-1)
	var from []string
	for _, name := range s.Layers {
		l, good := d.layers[name]
		if !good { // reported at the layer
			d.out.poison(path)
			return Span{Layers: s.Layers}, false
		}
		s.From, s.To = min(s.From, l.From), max(s.To, l.To)
		from = append(from, "layers."+name+".from", "layers."+name+".to")
	}
	d.mergeUses(path, from...)
	return s, true
}

// gatherUses records at a list's path what its numbers use.
func (d *decoder) gatherUses(path string, n int) {
	if d.from != nil {
		return
	}
	var from []string
	for i := range n {
		from = append(from, index(path, i))
	}
	d.mergeUses(path, from...)
}

func (d *decoder) mergeUses(path string, from ...string) {
	if d.from != nil {
		return
	}
	var all []string
	for _, f := range from {
		all = append(all, d.origin.Uses[f]...)
	}
	if len(all) > 0 {
		slices.SortFunc(all, strings.Compare)
		d.origin.Uses[path] = slices.Compact(all)
	}
}
