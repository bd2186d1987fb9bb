package stroke

// Element is one force element. A newcomer writes one file with a type that
// implements it and a line in build.go that makes it from the design.
//
// Eval is called at closed configurations and must not allocate; it adds the
// same number of slips and contacts each time, in the same order.
type Element interface {
	// Name is the element's name in the finger file.
	Name() string
	// Kind is its word: ramp, clip, hold, stop, spring, ...
	Kind() string
	// Eval adds stored energy, forces, friction and contacts.
	Eval(v *View, out *Loads)
	// Marks appends one number per entry of MarkNames; a change of sign between
	// two configurations is an event.
	Marks(v *View, dst []float64) []float64
	MarkNames() []Mark
}

// Gate is an element that can hold others back: what an order rule may name.
type Gate interface {
	Element
	// Gate returns the coordinate that gives way, its derivatives, and whether
	// the element is engaged: in reach to hold.
	Gate(v *View) (x float64, row Row, engaged bool)
}

// Mark names the events of one mark: Up when its number turns positive, Down
// when it turns negative; an empty Kind is no event. Gives marks the element's
// giving way.
type Mark struct {
	Up, Down           Kind
	GivesUp, GivesDown bool
	// Band is how far the number must fall below 0 (in its own unit) to count as
	// turned: a stop without load is neither met nor left all the time.
	Band float64
}

// Kind is a kind of event.
type Kind string

// Kinds of event.
const (
	RampMet      Kind = "ramp met"
	RampPeak     Kind = "ramp peak passed"
	RampLeft     Kind = "ramp left"
	ClipTouched  Kind = "clip touched"
	ClipSnapped  Kind = "clip snapped"
	ClipReleased Kind = "clip released"
	ClipClear    Kind = "clip clear"
	StopMet      Kind = "stop met"
	StopLeft     Kind = "stop left"
	EndMet       Kind = "slot end met"
	EndLeft      Kind = "slot end left"
	HoldReleased Kind = "hold released"
	HoldReached  Kind = "hold reached"
	PadsMet      Kind = "pads met"
	PadsLeft     Kind = "pads left"
	FloorMet     Kind = "floor met"
	FloorLeft    Kind = "floor left"
	JointStarts  Kind = "joint starts"
	JointStops   Kind = "joint stops"
	Jump         Kind = "jump"
	Undetermined Kind = "undetermined"
)

// Slip is one place of Coulomb friction, or a block.
type Slip struct {
	X    float64 // coordinate that slides: mm or rad
	Grad Row     // its derivatives
	// Out and Back bound the friction (N or N·mm, ≥ 0, +Inf blocks) against
	// growing and falling X.
	Out, Back float64
	// With Rows the friction forces on the configuration are OutRow while X
	// grows and BackRow while it falls, instead of −Out·Grad and Back·Grad: a
	// hook's friction changes its normal force too.
	Rows            bool
	OutRow, BackRow Row
	// Contact is 1 + the index of the contact whose force times Mu bounds the
	// friction; 0 where Out and Back are given.
	Contact int
	Mu      float64
}

// saturated reports whether a block is in full use for a share sigma.
func (s *Slip) saturated(sigma float64) bool {
	return sigma >= 1 && s.Out >= blocked || sigma <= -1 && s.Back >= blocked
}

// full is the friction force while X grows or falls.
func (s *Slip) full(up bool) Row {
	switch {
	case s.Rows && up:
		return s.OutRow
	case s.Rows:
		return s.BackRow
	case up:
		return s.Grad.Scaled(-s.Out)
	}
	return s.Grad.Scaled(s.Back)
}

// Contact is a one-sided hard contact as a stiff spring: it pushes with
// Stiffness times the penetration −Gap towards growing Gap.
type Contact struct {
	Gap       float64 // mm or rad, negative in contact
	Grad      Row
	Stiffness float64 // N/mm or N·mm/rad
}

// Loads gathers what the elements do at one configuration.
type Loads struct {
	Energy   float64   // N·mm, contacts not included
	Q        []float64 // conservative generalised force (N, N·mm)
	Slips    []Slip
	Contacts []Contact
}

func (l *Loads) reset() {
	l.Energy = 0
	for i := range l.Q {
		l.Q[i] = 0
	}
	l.Slips, l.Contacts = l.Slips[:0], l.Contacts[:0]
}

// Push adds w times a row to the conservative force.
func (l *Loads) Push(r *Row, w float64) { r.AddTo(l.Q, w) }

// Slip adds a place of friction and returns it for filling in.
func (l *Loads) Slip() *Slip {
	if len(l.Slips) < cap(l.Slips) {
		l.Slips = l.Slips[:len(l.Slips)+1]
		l.Slips[len(l.Slips)-1] = Slip{}
	} else {
		l.Slips = append(l.Slips, Slip{})
	}
	return &l.Slips[len(l.Slips)-1]
}

// Contact adds a one-sided contact.
func (l *Loads) Contact(c Contact) { l.Contacts = append(l.Contacts, c) }

// never is a mark that is far from its event.
const never = -1.0

// blocked replaces an infinite friction bound in the arithmetic.
const blocked = 1e9

func bound(v float64) float64 { return min(v, blocked) }
