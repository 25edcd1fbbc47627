package airfoil

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

const mendOrder = "Give the points once round from the trailing edge over the upper surface to the nose and back along " +
	"the lower, or in two blocks that each run from the nose to the trailing edge"

// refuse makes the error of a file; line 0 stands for the file as a whole.
func (f *outlineFile) refuse(line int, mend, format string, args ...any) error {
	return &scan.FormatError{File: f.name, Line: line, Msg: fmt.Sprintf(format, args...), Mend: mend}
}

// order brings the points into the order of an outline: from the upper tail round the nose to the lower tail.
func (f *outlineFile) order(t *table) error {
	if len(f.points) < fewest {
		return f.refuse(0, mendText, "%d points do not tell a section: at least %d are needed", len(f.points), fewest)
	}
	f.firstOutline(t)
	lo, hi := extent(f.points)
	if hi-lo < leastLength {
		return f.refuse(f.points[0].line, mendText, "every point has about the same x, %g", lo)
	}
	cut, err := f.blocks(t, hi-lo)
	switch {
	case err != nil:
	case cut > 0:
		err = f.joinBlocks(cut, lo, hi)
	default:
		err = f.roundTrip(lo, hi)
	}
	if err != nil {
		return err
	}
	if err := f.turn(hi - lo); err != nil {
		return err
	}
	return f.face(lo, hi)
}

// turn has the outline run over the upper surface first.
func (f *outlineFile) turn(chord float64) error {
	area := signedArea(f.points) / sq(chord)
	if math.Abs(area) < leastArea {
		return f.refuse(0, mendOrder, "upper and lower surface enclose nothing: the same surface stands in it twice, or the points are mixed")
	}
	if area < 0 {
		slices.Reverse(f.points)
	}
	return nil
}

// firstOutline leaves only the first of several curves under headings of their own, if it is a whole outline: some
// programs add the mean line and the chord line.
func (f *outlineFile) firstOutline(t *table) {
	if len(t.groups) == 0 || t.countsLine > 0 || t.groups[0] < fewest {
		return
	}
	first := f.points[:t.groups[0]]
	lo, hi := extent(first)
	if !aft(first[0], lo, hi) || !aft(first[len(first)-1], lo, hi) || math.Abs(signedArea(first)) < leastArea*sq(hi-lo) {
		return
	}
	f.note("airfoil-more", "%s has more than one curve under headings; the first is a whole outline, and the %d points from line %d on were passed over.",
		f.name, len(f.points)-len(first), f.points[len(first)].line)
	f.points = first
}

// aft and fore report whether a point lies in the last or first quarter of the chord.
func aft(p sample, lo, hi float64) bool  { return p.X > lo+0.75*(hi-lo) }
func fore(p sample, lo, hi float64) bool { return p.X < lo+0.25*(hi-lo) }

// face turns an outline round whose nose lies at the greatest x. Every section is thicker just behind its nose
// than just ahead of its tail; only one that is closed behind can be told so from a thick base.
func (f *outlineFile) face(lo, hi float64) error {
	const near, much = 0.025, 2.0
	upper, lower := f.surfaces()
	top, bottom := heights(upper), heights(lower)
	thick := func(share float64) float64 {
		x := lo + share*(hi-lo)
		return top(x) - bottom(x)
	}
	if thick(1-near) < much*thick(near) || thick(1) > thick(1-near)/2 {
		return nil
	}
	whole := lo + hi
	for _, unit := range units() {
		if math.Abs(whole/unit-1) < tailOff {
			whole = unit // the nose of a bent section lies a little ahead of its origin
		}
	}
	for i := range f.points {
		f.points[i].X = whole - f.points[i].X
	}
	f.caution("airfoil-reversed", "%s counts x from the trailing edge; it was turned round. Compare it with the drawing.", f.name)
	lo, hi = extent(f.points)
	if err := f.roundTrip(lo, hi); err != nil {
		return err
	}
	return f.turn(hi - lo)
}

// leastLength is the length of a chord, in whatever unit, below which there is none.
const leastLength = 1e-3

// leastArea is the area of a section over the square of its chord below which it is none: a 2 % section has
// 0.014.
const leastArea = 0.005

// blocks returns where the second block begins, 0 for a file without blocks.
func (f *outlineFile) blocks(t *table, length float64) (int, error) {
	if t.countsLine > 0 {
		a, b := t.counts[0], t.counts[1]
		if a+b == len(f.points) {
			return a, nil
		}
		cut, err := f.jump(length)
		if err != nil || cut == 0 || !f.reachTail(cut, length) {
			return 0, f.refuse(t.countsLine, "Correct the two counts, or look whether the file was cut off",
				"%d and %d points are promised, but %d follow", a, b, len(f.points))
		}
		f.caution("airfoil-counts", "%s, line %d: %d and %d points are promised, but %d and %d follow. Both surfaces reach the trailing edge, "+
			"so they were taken as they are; compare them with the drawing.", f.name, t.countsLine, a, b, cut, len(f.points)-cut)
		return cut, nil
	}
	return f.jump(length)
}

// reachTail reports whether both blocks have an end at the greatest x, as far as a blunt tail lets them.
func (f *outlineFile) reachTail(cut int, length float64) bool {
	_, hi := extent(f.points)
	for _, block := range [][]sample{f.points[:cut], f.points[cut:]} {
		if _, end := extent(block); end < hi-mostUneven*length {
			return false
		}
	}
	return true
}

// jump returns where x jumps from the end of one block to the beginning of the next, 0 if it does not.
func (f *outlineFile) jump(length float64) (int, error) {
	cut := 0
	for i := 1; i < len(f.points); i++ {
		if math.Abs(f.points[i].X-f.points[i-1].X) < length/2 {
			continue
		}
		if cut > 0 {
			return 0, f.refuse(f.points[i].line, mendOrder, "x jumps a second time, to %g", f.points[i].X)
		}
		cut = i
	}
	return cut, nil
}

// joinBlocks makes one outline of two blocks, each of which may run either way.
func (f *outlineFile) joinBlocks(cut int, lo, hi float64) error {
	first, second := f.points[:cut], f.points[cut:]
	for _, block := range [][]sample{first, second} {
		if block[0].X > block[len(block)-1].X {
			slices.Reverse(block)
		}
		from, to := block[0], block[len(block)-1]
		if from.X > lo+(hi-lo)/4 || to.X < hi-(hi-lo)/4 {
			return f.refuse(from.line, mendOrder, "the block from line %d to line %d does not run from the nose to the trailing edge",
				min(from.line, to.line), max(from.line, to.line))
		}
	}
	slices.Reverse(first)
	return nil
}

// mostOpen is how far apart the ends of an outline may lie that begins somewhere along a surface, in chords.
const mostOpen = 0.1

// roundTrip accepts points once round from the tail, and turns points once round from elsewhere into these.
func (f *outlineFile) roundTrip(lo, hi float64) error {
	first, last := f.points[0], f.points[len(f.points)-1]
	switch {
	case aft(first, lo, hi) && aft(last, lo, hi):
		return nil
	case fore(first, lo, hi) && fore(last, lo, hi), r2.Norm(r2.Sub(first.Vec, last.Vec)) < mostOpen*(hi-lo):
		f.splitAtTail(hi, (hi-lo)*same)
		return nil
	}
	return f.refuse(last.line, mendOrder, "the points neither go once round nor stand in two blocks: they begin at x = %g and end at x = %g", first.X, last.X)
}

// splitAtTail turns an outline that begins elsewhere into one from tail to tail. The tail is the points within
// near of the greatest x: one for a closed tail, two for an open one.
func (f *outlineFile) splitAtTail(hi, near float64) {
	at := func(p sample) bool { return hi-p.X <= near }
	i := slices.IndexFunc(f.points, at)
	j := len(f.points) - 1
	for !at(f.points[j]) {
		j--
	}
	f.points = slices.Concat(f.points[j:], f.points[:i+1])
}

// signedArea returns the area within the outline, positive where it runs from the tail over the top.
func signedArea(points []sample) float64 {
	var sum float64
	for i, p := range points {
		q := points[(i+1)%len(points)]
		sum += r2.Cross(p.Vec, q.Vec)
	}
	return sum / 2
}
