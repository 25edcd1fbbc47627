// Package section finds the wing in a scan and measures it: the pose, the scale, the lofted nominal that
// lies closest, and the departure of the skin from it over the whole panel. It is the second step of the
// way scan -> section -> fit -> outbox; its value is a [Survey].
package section

import (
	"errors"
	"math"

	"tipwright/scan"
	"tipwright/section/airfoil"
)

const (
	outlinePoints = 1601
	leastPoints   = 500  // a scan with fewer points near the wing cannot be measured
	leastCover    = 0.55 // share of the outline that must be seen: one whole surface and the nose
	wholeCover    = 0.9
	leastSpan     = 60.0   // mm of panel
	shortSpan     = 200.0  // mm
	mostSpan      = 2500.0 // mm: farther inboard a wing may have kinks that a straight loft does not know
	scaleCaution  = 0.005
	scaleRefusal  = 0.08
	ownReach      = 400.0 // mm from the tip rib over which it is fitted in the end
	scannerScaleU = 0.01  // share, k = 2, by which a phone's scan may be too large or too small (common practice, no source)
	tapeU         = 1.0   // mm, k = 2, of a chord taped with care over a straightedge (common practice, no source)
	worstResidual = 0.012
	meshSpacing   = 260       // points laid along a chord of a coarse mesh: one to three in each cell of the map
	firstPoints   = 400_000   // points of the panel on which its ends are first tried, about ...
	samplePoints  = 1_000_000 // ... and on which they are settled; the map of departures takes them all
	polishFirst   = 100_000   // points on which the polish is first tried
	endReach      = 0.25      // chords either side of an end's supposed place in which it is looked for ...
	endKnown      = 0.15      // ... and once it is known
	leastTurn     = 0.0001    // mm a mm of span, k = 2: no skin is known to grow less proud than this at the tail (common practice, no source)
	panelMargin   = 0.06      // chords about the coarse loft within which points are kept for the fine fit
)

// Measure finds the wing in a scan and measures it. An error is a *scan.RefusalError, in a builder's words.
func Measure(s *scan.Scan, opt Options) (*Survey, error) {
	w, err := find(s, &opt)
	if refused, ok := errors.AsType[*scan.RefusalError](err); ok && refused.Code == wrongSide {
		// A file may hold both wings, and this was the other one.
		if other, otherErr := find(without(s, w.best), &opt); otherErr == nil && other.best.certain() && other.best.span() > w.best.span()/2 {
			w, err = other, nil
			w.say(scan.Notef("both-wings", "The scan holds more than one wing. The %s one was measured, as the file's name says.", opt.Side))
		}
	}
	if err != nil {
		return nil, err
	}
	if err := w.refine(); err != nil {
		return nil, err
	}
	if err := w.settleEnds(); err != nil {
		return nil, err
	}
	if opt.Airfoil == nil {
		if err := w.settleOwn(); err != nil {
			return nil, err
		}
	}
	if err := w.settleScale(); err != nil {
		return nil, w.orAnotherAirfoil(err)
	}
	v, err := w.survey()
	if err != nil {
		return nil, w.orAnotherAirfoil(err)
	}
	return v, nil
}

// prepare lists the sizes that the wing may have in the scan.
func prepare(m *mesh, opt *Options, reference float64) ([]guess, error) {
	if n := m.own.len(); n < leastPoints && len(m.scan.Triangles) == 0 {
		return nil, scan.Refusef("too-few-points", "Scan again, closer and more slowly.",
			"The scan holds only %d points.", n)
	}
	if m.own.len() == 0 {
		return nil, scan.Refusef("too-few-points", "Export the scan again.", "The scan holds no surface.")
	}
	size, _ := extent(&m.own)
	gs := opt.guesses(m.scan, size, reference)
	if len(gs) == 0 {
		return nil, opt.noScale(m.scan, size)
	}
	return gs, nil
}

// work is one measurement under way.
type work struct {
	opt      *Options
	airfoil  *airfoil.Airfoil
	points   *mesh
	best     *candidate
	other    *candidate // the same the other way round, where the coarse cloud could not tell which end is outboard
	starts   int
	margin   float64
	cutShort bool // the span beyond an aileron's end is left out
	messages []scan.Message

	cloud      *cloud   // all points
	marked     marks    // those of them that lie near the wing
	mended     *mending // how upper and lower skin have been brought together; nil: they have not
	aft        []uint32 // what may lie at the tail
	aftMesh    aftMesh  // of a mesh, with its points
	tailRoom   []tailPoint
	tailShape  tailShape // how it ends, as last found
	meshNoise  meshNoise
	tailU      float64 // mm, k = 2: by how much the tail's edge may lie wrong
	tip, root  end
	final      step
	unitName   scan.Unit
	unitFrom   string
	correction float64
	slid       float64             // mm by which the skins are shifted against each other along the chord; 0: not surely
	misnamed   bool                // the skins meet at the nose with another airfoil laid on than the sheet names
	noseOff    float64             // mm by which the skin's nose at the tip stands off more than the skin as a whole
	certain    [parameters]float64 // standard uncertainty of each parameter of the loft
	form       float64             // mm, size of the wing's form; 0 where nothing tells it
	growth     float64             // 1/mm, by which share of it the form changes along the span
	hingeU     float64             // mm, standard uncertainty of the height of the hinge's axis
}

// refine fits the loft to the points of the panel, squares the frame to the tip rib and fits again.
func (w *work) refine() error {
	c := w.best
	c.normals = nil
	c.points, w.aft = nil, nil
	points, share := w.near(c)
	c.points = points
	if len(c.points) < leastPoints {
		return scan.Refusef("too-few-points", "Scan again, closer and more slowly.",
			"Only %d points lie on the wing.", len(c.points))
	}
	s := c.full()
	s.floor, s.gate, s.rounds = 0, 0.02*c.Chord, 5
	c.runOn(share, s)
	w.keepToAileron(share)
	for _, look := range []struct {
		points bulk
		reach  float64
	}{{points.about(firstPoints), endReach * c.Chord}, {points, endKnown * c.Chord}} {
		c.points = look.points
		tip, ok := c.tipPlane(c.lo, c.hi, w.opt.TipRib, look.reach)
		if !ok {
			return scan.Refusef("no-tip", "Scan the outboard end of the wing with its whole edge, from all round.",
				"The outboard end of the skin was not found.")
		}
		w.tip = tip
		c.square(w.tip, w.opt.TipRib)
		c.hi -= w.tip.at + w.opt.TipRib
		c.lo = -w.opt.TipRib
		s = c.full()
		s.lo, s.hi = 5, c.hi // beyond the rib the skin may be rounded
		s.floor, s.gate, s.rounds = 0, math.Max(0.008*c.Chord, 8*c.scale), 5
		s.free[rollPar], s.free[yawPar] = false, false
		s.free[sweepPar], s.free[risePar] = true, true
		c.runOn(share, s)
		if was := c.Deflection; c.settleAileron() != was { // it had left the reach of the gate
			c.runOn(share, s)
		}
		w.final = s
		if root, ok := c.end(c.lo, c.hi, -1, look.reach); ok && !w.cutShort {
			w.root, c.hi = root, root.at
		}
		c.hi = math.Min(c.hi, mostSpan)
	}
	w.polish()
	return nil
}

// aileronEnds is the code of the caution that the aileron's deflection changes within the panel.
const aileronEnds = "aileron-ends"

// keepToAileron leaves out the span beyond the end of an aileron that ends within the panel. share is an even share
// of the points.
func (w *work) keepToAileron(share bulk) {
	c := w.best
	end, ok := c.aileronEnd()
	if !ok || end-aileronBand/2-c.lo < leastSpan {
		return
	}
	c.hi = end - aileronBand/2 // the change lies anywhere in the band before
	w.cutShort = true
	c.settleAileron()
	s := c.full()
	s.floor, s.gate, s.rounds = 0, 0.02*c.Chord, 8
	c.runOn(share, s)
	w.say(scan.Cautionf(aileronEnds, "The aileron's deflection changes about %.0f mm inboard of the skin's outboard end: it ends or begins there. Only the wing outboard of that was measured.", end-c.lo))
}

// settleOwn fits the scan's own section anew to all points near the tip, and the loft to it.
func (w *work) settleOwn() error {
	c := w.best
	if !c.adoptOwn(5, math.Min(c.hi, ownReach), false) {
		return noWing(c)
	}
	w.airfoil = c.Loft.Airfoil
	if err := w.refine(); err != nil {
		return err
	}
	w.say(scan.Notef("airfoil-unknown", "The wing sheet names no airfoil. A smooth outline through the scan's own points near the tip stands in for it: low and high spots are told against that, and nothing can be said about the drawing. Write the airfoil into the wing sheet if you know it."))
	return nil
}

// polish settles the loft on a map of departures together with the wing's form, with the tail's edge for
// the chord.
func (w *work) polish() {
	c := w.best
	tail := w.tailEdges()
	all := c.points
	for i, points := range []bulk{all.about(polishFirst), all} {
		if i > 0 {
			tail = w.tailEdges()
		}
		c.points = points
		m := c.newMap(c.hi)
		m.inside = w.openEnd()
		c.depart(&m, c.stream(), w.rimStation(), c.hi, w.mesh())
		c.points = all
		m.correlate()
		s := w.final
		s.lo, s.hi = c.lo, c.hi
		p := c.polish(&m, s, tail, w.opt.Airfoil != nil)
		w.certain, w.form, w.growth, w.hingeU = p.u, p.form, p.growth, p.hinge
	}
	w.reachTail()
}

// mesh reports whether the scan is a mesh, which may be hollow; a scanner's cloud shows the outside only.
func (w *work) mesh() bool { return len(w.points.scan.Triangles) > 0 }

// rimStation returns the station below which points may belong to the tip rib's face.
func (w *work) rimStation() float64 {
	if w.tip.closed {
		return w.best.lo + math.Max(3, rimSigma*w.best.scale)
	}
	return w.best.lo
}

// openEnd has room for what is seen of the inside of the skin, where that can be; nil where it cannot.
func (w *work) openEnd() *inside {
	if w.tip.closed || w.mesh() {
		return nil
	}
	return &inside{}
}

// survey maps the departures and puts everything together.
func (w *work) survey() (*Survey, error) {
	c := w.best
	u := w.certain
	c.Loft.Airfoil = w.airfoil
	w.tailRoom = nil // for the map of every point
	m := c.newMap(c.hi)
	m.doubled, m.inside = &doubled{}, w.openEnd()
	noise, near := c.depart(&m, w.everyPoint(), w.rimStation(), c.hi, w.mesh())
	m.correlate()
	c.fold(&m, noise)
	if w.mended == nil {
		mend, err := w.checkSplit(&m)
		if err != nil {
			return nil, err
		}
		if mend != 0 {
			w.bringTogether(mend)
			w.polish()
			return w.survey()
		}
	}
	if err := w.checkSlid(noise); err != nil {
		return nil, err
	}
	used := 0
	for _, cell := range m.Cells {
		used += cell.N
	}
	bend := m.warp(&c.Loft)
	chordU := math.Hypot(2*u[chordPar], warpScale*bend)
	v := &Survey{
		Side: w.opt.Side, StandIn: w.opt.Airfoil == nil, Loft: c.Loft, Map: m, Noise: noise,
		Units: w.unitName, UnitFrom: w.unitFrom, Correction: w.correction,
		WingFromScan: w.wingFromScan(),
		// The nose may stand off the form's waves by as much as they are large, and by another amount farther inboard.
		Chord:    Measured{c.Chord, math.Hypot(chordU, 2*w.form)},
		Taper:    Measured{c.Taper, math.Hypot(2*u[taperPar], math.Hypot(2*w.form, w.noseOff)*w.growth)},
		Twist:    Measured{c.Twist, math.Hypot(math.Hypot(2*u[twistPar], leastTurn/c.Chord), warpTwist*bend*4/(c.Chord*c.hi))},
		Sweep:    Measured{c.Sweep, 2 * math.Hypot(u[sweepPar], w.tip.uX)},
		ScaleRel: chordU / c.Chord,
		Stations: c.hi,
		Fit: Quality{RMS: c.scale, Inliers: float64(used) / math.Max(float64(near), 1), Used: used,
			Starts: w.starts, Margin: w.margin},
	}
	if w.opt.Chord == 0 {
		v.ScaleRel = math.Hypot(scannerScaleU, v.ScaleRel)
		v.Chord.U = math.Hypot(scannerScaleU*c.Chord, v.Chord.U)
		w.say(scan.Cautionf("scale-unchecked", "No chord was taped, so every size is the scanner's own, which may be wrong by 1 %%. Tape the chord at the tip rib and write it into the wing sheet before you cut."))
	}
	if w.opt.Chord > 0 && !w.opt.TrustScale {
		u := math.Hypot(w.scaleU(noise), w.slid)
		v.ScaleRel = math.Hypot(u/c.Chord, v.ScaleRel)
		// A nose that stands off by itself is the loft's chord, or it is the wing's form.
		v.Chord.U = math.Hypot(math.Hypot(u, w.noseOff), v.Chord.U)
	}
	if c.Hinge > 0 {
		v.Deflection = &Measured{c.Deflection, math.Hypot(2*u[deflectPar], warpScale*bend/((1-c.Hinge)*c.Chord))}
	}
	v.Coverage = m.coverage()
	if err := w.checkSeen(v); err != nil {
		return nil, err
	}
	if err := w.doubt(&m, noise); err != nil {
		return nil, err
	}
	w.checkTwice(*m.doubled)
	if m.inside != nil {
		w.checkInside(*m.inside)
	}
	w.checkNose(&m, noise)
	v.Messages = w.messages
	return v, nil
}
