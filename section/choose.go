package section

import (
	"math"
	"slices"

	"tipwright/scan"
)

// The choice among the four flips. The residuals part nose from tail, and up from down where the section
// has camber. The file's name says which side of the aircraft it is, so that up, aft and side together say
// which end is outboard. The ends give a second opinion: the chord shrinks outboard, and the tip rib's face
// closes the outboard end. Where the two opinions differ, or neither says anything, the builder is told.

const (
	// tie is how much worse than the winner the next flip must be to be out of the running. A camber of
	// 2 % parts them by a factor of ten even with 1 mm of noise.
	tie = 1.25
	// clearTaper is the change of chord per station that no noise makes, and that no wing has the other way
	// round.
	clearTaper = 0.02
	taperSigma = 4.0
	// leastTaper is the change of chord that decides where nothing else does: 5 mm a metre, more than the form of a wing
	// whose chord is constant lets its two ends differ.
	leastTaper = 0.005
	// leastCamber, chords, is the camber from which the residuals part up from down. With less, the form of the wing may
	// weigh more: half a millimetre on a small chord.
	leastCamber = 0.003
	// leastOwnCamber is the same of a scan's own section, from which a turned aileron may not have been told apart.
	leastOwnCamber = 0.008
	// clearMargin is how much worse the next flip must be for the camber alone to say which end is outboard, even
	// where only the other end is closed: a scan cropped square looks like a face, and many tips are open.
	clearMargin = 2.0
)

// evidence is what the ends of the panel say about which of them is outboard: positive where the end at
// the low stations is.
type evidence struct {
	taper, face int // +1, 0 or -1
}

func (e evidence) verdict() int {
	if e.taper != 0 {
		return e.taper
	}
	return e.face
}

// endEvidence looks at taper, from clear on, and end faces under a candidate.
func (c *candidate) endEvidence(clear float64) (e evidence) {
	s := c.full()
	u := c.certainty(s)
	if s.free[taperPar] && math.Abs(c.Taper) > math.Max(clear, taperSigma*u[taperPar]) {
		e.taper = sign(c.Taper)
	}
	tip, _ := c.end(c.lo, c.hi, 1, endReach*c.Chord)
	root, _ := c.end(c.lo, c.hi, -1, endReach*c.Chord)
	switch {
	case tip.closed && !root.closed:
		e.face = 1
	case root.closed && !tip.closed:
		e.face = -1
	}
	return e
}

func sign(v float64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// choose lets the candidates compete and settles which way the wing lies.
func (w *work) choose(found []*candidate) error {
	w.starts = len(found) * len(flips)
	best := found[0]
	if best.cover < leastCover*0.8 || best.scale > worstResidual*best.Chord {
		return noWing(best)
	}
	rivals := best.rivals()
	near := []*candidate{rivals[0]}
	for _, r := range rivals[1:] {
		if r.loss < tie*rivals[0].loss || w.symmetric(best) && !r.aftTurned(rivals[0]) {
			near = append(near, r)
		}
	}
	w.best, w.margin = rivals[0], rivals[1].loss/rivals[0].loss
	if w.best != best {
		// The stretch of skin was that of another flip, which may have taken a floor for its own.
		w.best.grow(w.best.fullest())
	}
	if len(near) > 1 {
		return w.breakTie(near)
	}
	e := w.best.endEvidence(clearTaper)
	switch {
	case e.taper < 0:
		return w.mirrored()
	case e.face < 0 && e.taper == 0 && (w.margin < clearMargin || w.best.endEvidence(leastTaper).taper < 0):
		// Face and chord together speak against the name, if only a little.
		w.say(scan.Cautionf("ends-doubtful", "The section's camber says that one end is outboard, but only the other end is closed by a face. The camber was followed. Check that the file's name gives the right side of the aircraft and that the scan was not mirrored."))
	}
	return nil
}

// symmetric reports whether a candidate's section has too little camber to part up from down.
func (w *work) symmetric(c *candidate) bool {
	if c.adopted() {
		camber, _ := c.Loft.Airfoil.Camber()
		return math.Abs(camber) < leastOwnCamber
	}
	camber, _ := w.airfoil.Camber()
	return math.Abs(camber) < leastCamber
}

// breakTie settles a near tie by the ends of the panel.
func (w *work) breakTie(near []*candidate) error {
	for _, r := range near[1:] {
		if r.aftTurned(near[0]) {
			return scan.Refusef("nose-or-tail",
				"Check the airfoil in the wing sheet, and scan nose and tail more closely.",
				"Nose and tail cannot be told apart: turned round, the section fits as well (%.2f against %.2f mm).",
				r.loss*r.Chord, near[0].loss*near[0].Chord)
		}
	}
	e := near[0].endEvidence(leastTaper)
	if e.verdict() < 0 {
		w.best = near[1]
		w.best.grow(w.best.fullest())
	}
	if e.taper*e.face < 0 && math.Abs(near[0].Taper) < clearTaper {
		w.say(scan.Cautionf("ends-doubtful", "The chord shrinks towards one end, but only the other is closed by a face. The chord was followed. Check which end is outboard before you cut."))
	}
	if e.verdict() == 0 {
		w.other = near[1]
	} else if e.taper == 0 {
		w.say(scan.Notef("ends-by-face", "The section is its own mirror image; the end that is closed by a face was taken for the outboard one."))
	}
	return nil
}

// settleEnds asks the taper, now that all points have told it, which end is outboard where nothing else did.
func (w *work) settleEnds() error {
	if w.other == nil {
		return nil
	}
	clear := math.Max(leastTaper, taperSigma*w.certain[taperPar])
	switch taper := w.best.Taper; {
	case taper < -clear:
		w.best, w.cutShort = w.other, false
		w.messages = slices.DeleteFunc(w.messages, func(m scan.Message) bool { return m.Code == aileronEnds })
		w.best.grow(w.best.fullest())
		return w.refine()
	case taper < clear:
		w.say(scan.Cautionf("ends-unknown", "Upper and lower side look alike, the chord does not change along the panel and neither end is closed: which end is outboard cannot be told. The templates are the same either way, but the places of low spots may be counted from the wrong end. Scan the tip rib's face too."))
	}
	return nil
}

// wrongSide is the code of the refusal of a wing that is the other side's.
const wrongSide = "wrong-side"

// mirrored is the refusal of a scan whose wing can only be the other side's.
func (w *work) mirrored() error {
	other := Left
	if w.opt.Side == Left {
		other = Right
	}
	return scan.Refusef(wrongSide,
		"If it is the "+other.String()+" wing, rename the file; if the scanner program mirrored it, export it again without mirroring.",
		"The file's name says %s wing, but its geometry is a %s wing's: with the camber up and the nose forward, the chord would grow towards the tip.",
		w.opt.Side, other)
}

// aftTurned reports whether two candidates of one place have nose and tail swapped.
func (c *candidate) aftTurned(o *candidate) bool {
	x, y := c.wingFromPoints.R[0], o.wingFromPoints.R[0]
	return x[0]*y[0]+x[1]*y[1]+x[2]*y[2] < 0
}
