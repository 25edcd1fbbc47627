// Package accuracy measures simulated scans whose truth is known and says how far each figure was off: the
// table in fit/ACCURACY.md, the depth from which a low spot is found, and how near the measurement comes to
// what the points of a scan allow. It calls what a delivery calls, section.Measure and fit.Fit, and takes the
// truth from section/simulate, which shares no curve, loft or departure with them.
package accuracy

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/fit"
	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// Case is one wing, how it is scanned and what its wing sheet says of it. Lengths mm.
type Case struct {
	Wing       simulate.Wing
	Scan       simulate.Scanner
	Airfoil    *airfoil.Airfoil // what the sheet names; nil: the wing's own
	Tape       float64          // by how much the chord was taped too long
	TrustScale bool             // the sheet tells to keep the scan's scale
	MendSplit  bool             // the sheet tells to bring the skins together; the callipers are then exact
	Band       float64          // how far inboard spots are looked for; 0: the sheet's default
}

// Outcome is what came of one case: its errors, measured less true.
type Outcome struct {
	Condition string            `json:"condition"`
	Seed      uint64            `json:"seed"`
	Refused   string            `json:"refused,omitempty"` // code of the refusal
	PoseRight bool              `json:"pose_right"`        // side, ends and up as they are
	Cautions  []string          `json:"cautions,omitempty"`
	Figures   map[string]Figure `json:"figures,omitempty"`
	Outlines  map[string]Misfit `json:"outlines,omitempty"`
	Spots     []SpotOutcome     `json:"spots,omitempty"` // of every low spot that there is
	FalseLow  int               `json:"false_low"`       // low spots reported where there are none
	FalseHigh int               `json:"false_high"`
	Limit     float64           `json:"limit"` // mm, the detection limit that was stated
	Noise     float64           `json:"noise"` // mm, as measured
}

// Figure is the error of one quantity and the expanded uncertainty (k = 2) stated for it; U is 0 where none is
// stated.
type Figure struct {
	Error float64 `json:"e"`
	U     float64 `json:"u"`
}

// The quantities.
const (
	SpanAxis  = "span axis"     // deg, angle between the measured and the true Y axis of the wing frame
	TipPlane  = "tip rib plane" // mm along the span
	Chord     = "chord"         // mm
	Scale     = "scale"         // mm on the chord: how much too long all that long is taken for
	Twist     = "twist"         // deg/m
	Aileron   = "aileron angle" // deg
	AsBuilt   = "as-built outline"
	Target    = "target outline"
	Template  = "template outline"
	degree    = math.Pi / 180
	perMetre  = 1000
	poseFar   = 0.98 // cosine: an axis farther off than 11 degrees is not the right pose
	stockBand = 300.0
)

// wishes are the filler's and the template's figures of the sheet, the same for all cases.
func (c *Case) wishes() fit.Options {
	band := c.Band
	if band == 0 {
		band = stockBand
	}
	return fit.Options{Band: band, ActAbove: 0.5, SandLimit: 0.2, Density: 450, Laminate: 0.8, Kerf: 1.5, Wire: 0.5, TipLength: 260}
}

// options is what the sheet says for the measurement.
func (c *Case) options(t *simulate.Truth) section.Options {
	a := c.Airfoil
	if a == nil {
		a = c.Wing.Airfoil
	}
	o := section.Options{Airfoil: a, Chord: t.Taped + c.Tape, Hinge: c.Wing.Hinge, Side: c.Wing.Side, TrustScale: c.TrustScale}
	if c.MendSplit {
		o.Thickness, o.MendSplit = thickest(t.Target), true
	}
	return o
}

// Run scans the wing, measures the scan and compares. A refusal is an outcome; an error means that the case
// cannot be made or that something else went wrong.
func (c *Case) Run() (Outcome, error) {
	s, truth, err := simulate.Scan(c.Wing, c.Scan)
	if err != nil {
		return Outcome{}, err
	}
	result, err := c.measure(s, truth)
	if refused, ok := errors.AsType[*scan.RefusalError](err); ok {
		return Outcome{Refused: refused.Code}, nil
	}
	if err != nil {
		return Outcome{}, fmt.Errorf("accuracy: %w", err)
	}
	return c.compare(result, truth), nil
}

// measure leads the scan along the way that a delivery goes.
func (c *Case) measure(s *scan.Scan, truth *simulate.Truth) (*fit.Result, error) {
	v, err := section.Measure(s, c.options(truth))
	if err != nil {
		return nil, err
	}
	return fit.Fit(v, c.wishes())
}

// compare holds a result to the truth.
func (c *Case) compare(r *fit.Result, truth *simulate.Truth) Outcome {
	out := Outcome{Figures: figures(r, truth), Limit: r.DetectionLimit, Noise: r.Survey.Noise}
	out.PoseRight = true
	got, want := r.Survey.WingFromScan, truth.WingFromScan
	for i := range 3 {
		out.PoseRight = out.PoseRight && r3.Dot(row(got, i), row(want, i)) > poseFar
	}
	for _, m := range r.Messages {
		if m.Level == scan.Caution {
			out.Cautions = append(out.Cautions, m.Code)
		}
	}
	out.Outlines = outlines(r, truth)
	out.Spots, out.FalseLow = matchSpots(r.LowSpots, truth, -1, c.wishes().Band)
	_, out.FalseHigh = matchSpots(r.HighSpots, truth, +1, c.wishes().Band)
	return out
}

// figures are the errors of the single quantities.
func figures(r *fit.Result, truth *simulate.Truth) map[string]Figure {
	v, w := r.Survey, &truth.Wing
	toDegPerM := perMetre / degree
	cross := r3.Norm(r3.Cross(row(v.WingFromScan, 1), row(truth.WingFromScan, 1)))
	origin := truth.WingFromScan.After(v.WingFromScan.Inverse()).Apply(r3.Vec{})
	out := map[string]Figure{
		SpanAxis: {Error: math.Asin(math.Min(cross, 1)) / degree},
		TipPlane: {Error: origin.Y * w.Side.Inboard()},
		Chord:    {v.Chord.Value - w.Chord, v.Chord.U},
		Scale:    {w.Chord * (v.WingFromScan.Scale/truth.WingFromScan.Scale - 1), w.Chord * v.ScaleRel},
		Twist:    {(v.Twist.Value - w.Twist) * toDegPerM, v.Twist.U * toDegPerM},
	}
	if r.Deflection != nil {
		out[Aileron] = Figure{(r.Deflection.Value - w.Deflection) / degree, r.Deflection.U / degree}
	}
	return out
}

// row returns one axis of the wing frame as a direction in the scan frame.
func row(t section.Transform, i int) r3.Vec {
	return r3.Vec{X: t.R[i][0], Y: t.R[i][1], Z: t.R[i][2]}
}

// outlines are the misfits of the three outlines at the tip rib. Beside the gap the skin that was scanned is not
// defined to the millimetre, so the as-built outline is not looked at there.
func outlines(r *fit.Result, truth *simulate.Truth) map[string]Misfit {
	out := map[string]Misfit{
		AsBuilt: misfit(truth.AsBuilt, r.AsBuilt, 0, r.OutlineU, truth.Wing.Hinge*truth.Wing.Chord),
		Target:  misfit(truth.Target, r.Target, 0, r.TargetU, 0),
	}
	for _, t := range r.Templates {
		if t.Name == "inboard-block" {
			out[Template] = misfit(truth.Target, t.Outline, t.Offset, t.U, 0)
		}
	}
	return out
}
