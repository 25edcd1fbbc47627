package simulate

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section"
)

// outlineEven is how many points the truth's outlines have: enough for every polyline to lie within
// 0.01 mm of a curve of 1.3 m chord.
const outlineEven = 2000

// Truth is what a perfect measurement of a simulated scan would find. Lengths are mm, angles rad. Outlines
// lie in the section frame at station 0 and run from the trailing edge over the upper surface to the
// leading edge and back along the lower; where an aileron is deflected they jump at the hinge, gap or not.
type Truth struct {
	Wing         Wing              // the wing that was scanned
	WingFromScan section.Transform // file units to the wing frame at true scale
	ScaleError   float64           // share by which lengths in the file are too large

	AsBuilt        []r2.Vec // the skin with all its spots, aileron as it stood; distortions of the scan not counted
	Target         []r2.Vec // the skin without any spot, aileron faired (deflection 0)
	TargetWithHigh []r2.Vec // Target and the high spots: what no sanding would leave
	Nominal        []r2.Vec // the placed nominal, aileron faired

	Chord, Taper, Twist, Deflection float64 // of the Wing
	Taped                           float64 // longest nose-to-tail distance of Target: what a tape reads as the chord
	Spots                           []SpotTruth

	skin *skin
}

// SpotTruth is one spot as it is on the panel.
type SpotTruth struct {
	Bump
	At     r3.Vec  // wing frame, mm: the skin's point at its middle
	Area   float64 // mm^2, of its whole footprint on the panel
	Volume float64 // mm^3, positive: filler for a low spot, material proud for a high one, on the panel
}

// newTruth works out the truth of a wing in a given pose.
func newTruth(k *skin, scanFromWing section.Transform, scaleError float64) *Truth {
	w := k.w
	t := &Truth{
		Wing: *w, WingFromScan: scanFromWing.Inverse(), ScaleError: scaleError,
		Chord: w.Chord, Taper: w.Taper, Twist: w.Twist, Deflection: w.Deflection, skin: k,
	}
	t.AsBuilt = k.outline(0, w.Deflection, wholeSkin)
	t.Target = k.outline(0, 0, formPart)
	t.TargetWithHigh = k.outline(0, 0, formPart|highPart)
	t.Nominal = k.outline(0, 0, 0)
	t.Taped = taped(t.Target)
	for i, b := range w.Spots {
		t.Spots = append(t.Spots, SpotTruth{
			Bump: b, At: k.at(k.spots[i].arc, b.Station).p,
			Area: b.area(-w.Overhang, w.Span), Volume: b.volume(-w.Overhang, w.Span),
		})
	}
	return t
}

// AsBuiltAt returns the as-built outline in the section frame at a station, mm, aileron as it stood.
func (t *Truth) AsBuiltAt(station float64) []r2.Vec {
	return t.skin.outline(station, t.Wing.Deflection, wholeSkin)
}

// TargetAt returns the skin without spots at a station, mm, with the aileron at the designer's neutral
// (rad, trailing edge down), in the section frame.
func (t *Truth) TargetAt(station, droop float64) []r2.Vec {
	return t.skin.outline(station, droop, formPart)
}

// Departure returns the distance in mm of the as-built skin from the placed nominal along the nominal's
// outward normal, negative where low. x is in mm aft of the leading edge in the tip section, aileron
// faired, and names the chord fraction x/Chord at every station. Panics if surface is Both.
func (t *Truth) Departure(surface Surface, x, station float64) float64 {
	return t.skin.departure(t.skin.foot(t.arc(surface, x)), station, wholeSkin)
}

// FormDeparture is Departure without the spots.
func (t *Truth) FormDeparture(surface Surface, x, station float64) float64 {
	return t.skin.departure(t.skin.foot(t.arc(surface, x)), station, formPart)
}

// arc returns the arc length in chords of a point named by surface and x in mm.
func (t *Truth) arc(surface Surface, x float64) float64 {
	if surface == Both {
		panic("simulate: a departure is of one surface")
	}
	return t.skin.c.arcOf(surface, x/t.Wing.Chord)
}

// LeadingEdge returns where the nominal's leading edge lies at a station, mm, in the section frame.
func (t *Truth) LeadingEdge(station float64) r2.Vec { return t.skin.place(r2.Vec{}, station) }

// outline returns outlineEven points of a section, closer together towards nose and tail.
func (k *skin) outline(station, deflection float64, which parts) []r2.Vec {
	out := make([]r2.Vec, outlineEven)
	for i := range out {
		u := 2*float64(i)/(outlineEven-1) - 1 // -1 and 1 are the tails, 0 the nose
		share := (1 - math.Cos(math.Pi*u)) / 2
		s := k.c.nose * (1 - share)
		if u > 0 {
			s = k.c.nose + (k.c.length()-k.c.nose)*share
		}
		out[i], _ = k.point(k.foot(s), station, deflection, which)
	}
	return out
}

// taped returns the longest distance from the middle of the tail to the outline.
func taped(outline []r2.Vec) float64 {
	tail := r2.Scale(0.5, r2.Add(outline[0], outline[len(outline)-1]))
	longest := 0.0
	for _, p := range outline {
		longest = max(longest, r2.Norm(r2.Sub(p, tail)))
	}
	return longest
}

// area returns the footprint in mm^2 of the spot between two stations: that of an ellipse cut by two lines.
func (b *Bump) area(from, to float64) float64 {
	part := func(u float64) float64 { // of the unit circle left of u
		u = min(max(u, -1), 1)
		return math.Pi/2 + math.Asin(u) + u*math.Sqrt(1-u*u)
	}
	lo, hi := 2*(from-b.Station)/b.Width, 2*(to-b.Station)/b.Width
	return b.Length * b.Width / 4 * (part(hi) - part(lo))
}

// volume returns the volume in mm^3 of the spot between two stations. A slice at v half widths from the
// middle has the area of |Height|·Length/2·16/15·(1-v²)^2.5, which has the closed integral below.
func (b *Bump) volume(from, to float64) float64 {
	part := func(v float64) float64 {
		v = min(max(v, -1), 1)
		c := math.Sqrt(1 - v*v)
		return v*c*(8*c*c*c*c+10*c*c+15)/48 + 15*math.Asin(v)/48
	}
	lo, hi := 2*(from-b.Station)/b.Width, 2*(to-b.Station)/b.Width
	return math.Abs(b.Height) * b.Length / 2 * 16 / 15 * b.Width / 2 * (part(hi) - part(lo))
}

// AreaDeeper returns the area in mm^2 where the whole spot departs by more than a limit in mm.
func (b *Bump) AreaDeeper(limit float64) float64 {
	share := 1 - math.Sqrt(limit/math.Abs(b.Height))
	return math.Pi / 4 * b.Length * b.Width * max(0, share)
}
