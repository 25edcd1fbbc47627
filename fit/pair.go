package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
	"tipwright/section"
)

// sameTwist is how far, rad, two sides may be turned or twisted against each other and still pass for the
// same: 0.1 degree, 2 mm at the tail of a 1200 mm chord (common practice, no source).
const sameTwist = 0.1 * math.Pi / 180

// PairResult is the left wing, mirrored, against the right one. In the section frame the two sides look
// alike without more ado. Differences are left less right, lengths mm, angles rad, U with k = 2.
type PairResult struct {
	Tolerance float64 // mm, what may differ

	Chord     Contrast  // mm, reference chord at station 0
	Thickness Contrast  // mm, greatest thickness of the skin at station 0, square to the chord line
	Area      Contrast  // mm², of the section within the skin at station 0, ailerons neutral
	Twist     Contrast  // rad per mm of station
	Sweep     Contrast  // rad, of the leading edge aft of square to the tip rib's face, going inboard positive
	Aileron   *Contrast // rad, trailing edge down positive; nil unless both sides have one

	// Traces are the two skins at station 0, ailerons neutral, along the left one's outline.
	Traces []PairTrace
	// Shift (mm) and Turn (rad, nose up positive) lay the left outline on the right one best. The turn's U is infinite
	// where it tells nothing of the wings.
	Shift r2.Vec
	Turn  section.Measured

	RawRMS, RawWorst     float64 // mm, as the two lie in their own frames; worst keeps its sign
	ShapeRMS, ShapeWorst float64 // mm, after shift and turn
	TargetWorst          float64 // mm, between the two targets after shift and turn
	U                    float64 // mm, expanded uncertainty of a difference, typical

	Same            bool // the skins agree within the tolerance and 0.1 degree
	OneTemplatePair bool // the targets do: one pair of templates serves both wings
	Needs           []Need
	Verdict         scan.Level
	Messages        []scan.Message
}

// Contrast is one quantity on both sides.
type Contrast struct {
	Left, Right, Difference section.Measured
	Differ                  bool // the difference exceeds its uncertainty
}

// PairTrace is the difference of the two skins at one point of the outline at station 0.
type PairTrace struct {
	Arc        float64 // mm, along the left nominal, as in section.Map
	X          float64 // mm aft of the leading edge
	Surface    Surface
	Raw, Shape float64 // mm, left less right along the normal: as they lie, and after shift and turn
	U          float64 // mm, k = 2
	Seen       bool    // both sides were seen here
}

// Need is a stretch of one wing's band that lies below the other's: roughly what would bring it up.
type Need struct {
	Side     section.Side
	Surface  Surface
	From, To float64          // mm aft of the leading edge
	Depth    float64          // mm, greatest
	Volume   section.Measured // mm³
}

func contrast(l, r section.Measured) Contrast {
	d := section.Measured{Value: l.Value - r.Value, U: math.Hypot(l.U, r.U)}
	return Contrast{l, r, d, math.Abs(d.Value) > d.U}
}

// sweep turns the leading edge's slope into an angle.
func sweep(s *section.Survey) section.Measured {
	cos := math.Cos(math.Atan(s.Sweep.Value))
	return section.Measured{Value: math.Atan(s.Sweep.Value), U: s.Sweep.U * cos * cos}
}

// Compare sets the left wing's result, mirrored, against the right one's. Both must come from [Fit];
// tolerance is what may differ between the tips, mm.
func Compare(left, right *Result, tolerance float64) *PairResult {
	p := &PairResult{Tolerance: tolerance}
	p.Chord = contrast(left.Survey.Chord, right.Survey.Chord)
	p.Twist = contrast(left.Survey.Twist, right.Survey.Twist)
	if a, b := left.Deflection, right.Deflection; a != nil && b != nil {
		c := contrast(*a, *b)
		p.Aileron = &c
	}
	l, r := newHalf(left), newHalf(right)
	p.Thickness = contrast(l.thickness(), r.thickness())
	p.Area = contrast(l.area(scaleRel(left.Survey)), r.area(scaleRel(right.Survey)))
	p.Sweep = contrast(sweep(left.Survey), sweep(right.Survey))
	raw := l.against(r, r2.Vec{}, 0)
	shift, turn, u := l.align(r)
	p.Shift, p.Turn = shift, section.Measured{Value: turn, U: 2 * u}
	if standIns(left, right) {
		p.Turn.U = math.Inf(1)
	}
	shape := l.against(r, shift, turn)
	p.traces(l, r, raw, shape)
	targets := l.targets().against(r.targets(), shift, turn)
	for i, d := range targets {
		if l.inner(i) && math.Abs(d) > math.Abs(p.TargetWorst) {
			p.TargetWorst = d
		}
	}
	p.judge(left, right)
	p.needs(left.work, right.work)
	p.tell(standIns(left, right))
	return p
}

// traces fills the differences along the outline and their summary.
func (p *PairResult) traces(l, r *half, raw, shape []float64) {
	var raw2, shape2, count float64
	var us []float64
	for i, t := range l.sections {
		o := r.nearest(t.Arc / l.length)
		d := PairTrace{
			Arc: t.Arc, X: math.Max(t.X, 0), Surface: l.surface(t.Arc), Raw: raw[i], Shape: shape[i],
			U:    math.Hypot(t.Departure.U, o.Departure.U),
			Seen: t.Seen && o.Seen && l.inner(i),
		}
		p.Traces = append(p.Traces, d)
		if !d.Seen {
			continue
		}
		raw2, shape2, count = raw2+square(d.Raw), shape2+square(d.Shape), count+1
		us = append(us, d.U)
		if math.Abs(d.Raw) > math.Abs(p.RawWorst) {
			p.RawWorst = d.Raw
		}
		if math.Abs(d.Shape) > math.Abs(p.ShapeWorst) {
			p.ShapeWorst = d.Shape
		}
	}
	p.RawRMS, p.ShapeRMS = math.Sqrt(raw2/math.Max(count, 1)), math.Sqrt(shape2/math.Max(count, 1))
	p.U = median(us)
}

// standIns tells whether a side lies by a section of its own, for want of a nominal. Where the chord line of such a
// section runs is nobody's choice, so that how two of them are turned says nothing of the wings.
func standIns(left, right *Result) bool { return left.Survey.StandIn || right.Survey.StandIn }

// judge decides whether the sides are the same. Twist counts over the span that both scans show.
func (p *PairResult) judge(left, right *Result) {
	span := math.Min(left.Survey.Stations, right.Survey.Stations)
	straight := standIns(left, right) || math.Abs(p.Turn.Value) <= sameTwist
	p.OneTemplatePair = math.Abs(p.TargetWorst) <= p.Tolerance && straight
	p.Same = math.Abs(p.ShapeWorst) <= p.Tolerance && straight &&
		math.Abs(p.Chord.Difference.Value) <= p.Tolerance &&
		math.Abs(p.Twist.Difference.Value)*span <= sameTwist
}
