package accuracy

import (
	"fmt"
	"math"
	"math/rand/v2"

	"tipwright/section/simulate"
)

// Detection is what was found of low spots 150 mm wide and of all depths at one noise.
type Detection struct {
	Noise    float64 // mm
	Scans    int
	Trials   []Trial
	False    int       // low spots reported where there are none
	Stated   []float64 // mm, the detection limits that the scans stated
	Curve    *Curve
	NoCurve  error
	HitsOver int // of OverLimit
	// OverLimit is how many of the targets were deeper than their scan's stated limit.
	OverLimit int
}

// Sought is one scan of the detection test: its targets and what was stated.
type Sought struct {
	Seed   uint64        `json:"seed"`
	Noise  float64       `json:"noise"`
	Spots  []SpotOutcome `json:"spots"`
	False  int           `json:"false"`
	Stated float64       `json:"stated"`
}

const (
	detectionScans = 10   // a noise; twelve targets each, so that there are twice the 60 that MIL-HDBK-1823A asks for
	leastDepth     = 0.05 // mm
	mostDepth      = 1.5
	detectionSeed  = 900_000
)

// DetectionNoises are the noises at which detection is tested, mm.
func DetectionNoises() []float64 { return []float64{0.3, 0.5, 1} }

// Seek makes and measures one scan of the detection test. The targets lie in two rows along the span, three on each
// skin clear of nose, hinge and tail, their depths even over their logarithm.
func Seek(noise float64, k int) (Sought, error) {
	seed := uint64(detectionSeed + k)
	r := rand.New(rand.NewPCG(seed, 3))
	c := draw(seed)
	c.Wing.Span, c.Band = 660, 660
	c.Wing.Spots = nil
	c.Scan.Noise, c.Scan.Stand, c.Scan.Falloff, c.Scan.ClutterDensity = noise, false, 0, 0.03
	for _, side := range []simulate.Surface{simulate.Upper, simulate.Lower} {
		for _, station := range []float64{170, 480} {
			for _, x := range []float64{0.2, 0.43, 0.65} {
				depth := leastDepth * math.Pow(mostDepth/leastDepth, r.Float64())
				c.Wing.Spots = append(c.Wing.Spots, simulate.Bump{Surface: side, X: (x + between(r, -0.02, 0.02)) * c.Wing.Chord,
					Station: station + between(r, -30, 30), Length: stampWidth, Width: stampWidth, Height: -depth})
			}
		}
	}
	o, err := c.Run()
	if err == nil && o.Refused != "" {
		err = fmt.Errorf("accuracy: a scan of the detection test was refused: %s", o.Refused)
	}
	return Sought{Seed: seed, Noise: noise, Spots: o.Spots, False: o.FalseLow, Stated: o.Limit}, err
}

// Detect takes the scans of one noise together and fits the curve.
func Detect(noise float64, scans []Sought) Detection {
	d := Detection{Noise: noise, Scans: len(scans)}
	for _, s := range scans {
		d.False += s.False
		d.Stated = append(d.Stated, s.Stated)
		for _, t := range s.Spots {
			d.Trials = append(d.Trials, Trial{Size: t.True, Hit: t.Found})
			if t.True > s.Stated {
				d.OverLimit++
				if t.Found {
					d.HitsOver++
				}
			}
		}
	}
	d.Curve, d.NoCurve = FitPOD(d.Trials)
	return d
}

// detection shows the curves.
func (r *Report) detection(p *page) {
	p.say("## From which depth a low spot is found\n")
	p.say("Low spots 150 mm wide, %.2f to %.1f mm deep, twelve on each wing of 660 mm span, 400,000 points; hit or miss, log odds", leastDepth, mostDepth)
	p.say("linear in the logarithm of the depth, by maximum likelihood as in MIL-HDBK-1823A; a90/95 by the likelihood ratio")
	p.say("(in brackets by the normal approximation). Wanted at 0.5 mm: 0.15 mm or less. The limit that the report states is")
	p.say("for a spot 100 mm wide, which is harder to find.\n")
	p.head("noise, mm", "targets", "found", "a50, mm", "a90, mm", "a90/95, mm", "stated limit, mm", "found of those over it", "false low spots")
	for _, d := range r.Detection {
		cells := []string{fmt.Sprintf("%.1f", d.Noise), fmt.Sprint(len(d.Trials)), fmt.Sprint(hits(d.Trials))}
		if c := d.Curve; c != nil {
			cells = append(cells, fmt.Sprintf("%.3f", c.A50), fmt.Sprintf("%.3f", c.A90), fmt.Sprintf("%.3f (%.3f)", c.A9095, c.A9095Wald))
		} else {
			cells = append(cells, "-", "-", d.parted())
		}
		p.row(append(cells, fmt.Sprintf("%.2f", middle(d.Stated)), share(d.HitsOver, d.OverLimit), fmt.Sprintf("%d in %d scans", d.False, d.Scans))...)
	}
	p.say("")
}

// parted says between which depths hits and misses part where no curve can be fitted.
func (d *Detection) parted() string {
	miss, hit := 0.0, math.Inf(1)
	for _, t := range d.Trials {
		if t.Hit {
			hit = math.Min(hit, t.Size)
		} else {
			miss = math.Max(miss, t.Size)
		}
	}
	return fmt.Sprintf("no curve: all missed up to %.3f, all found from %.3f", miss, hit)
}

func hits(trials []Trial) (n int) {
	for _, t := range trials {
		if t.Hit {
			n++
		}
	}
	return n
}
