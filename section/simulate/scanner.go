package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section"
)

// Scanner says how the wing was scanned and what else got into the scan. Lengths are mm, angles rad; the
// zero value of a field means that the thing is absent.
type Scanner struct {
	Seed   uint64
	Points int // about how many lie on the wing's skins; its faces, tail and all clutter come on top
	// ClutterDensity is the clutter's points per area over that of the skin; 0 stands for 0.25.
	ClutterDensity float64
	Falloff        float64 // cloud only: share of points lost at the farthest corner, as seen from above the tip; 0 to 1

	Noise           float64 // standard deviation along the normal
	Isotropic       bool    // the same noise along all three axes instead
	CorrelatedNoise float64 // standard deviation of a part that is the same over NoiseLength, for each skin its own
	NoiseLength     float64 // correlation falls to exp(-1/2) at this distance
	Warp            float64 // root mean square, per axis, of a slow bend of the whole scan
	ScaleError      float64 // share by which lengths come out too large

	Mesh       bool // triangles, else a cloud
	MeshSmooth int  // rounds of Laplacian smoothing after the noise, as surface fusion does; open edges stay

	Unit       scan.Unit         // what the file is written in; UnitUnknown stands for mm
	Prescribed bool              // the format itself says the unit (Scan.Unit is then set)
	Pose       section.Transform // wing frame to scan frame, both mm; the zero value is no move
	RandomPose bool              // a seeded pose in any direction instead of Pose

	Strays float64 // share of the points on the wing, scattered at random round it
	// Floor lies about 0.7 m below the wing, Wall stands behind it, Stand is a saw-horse under the lower
	// skin (which hides what it touches), Person stands outboard of the tip, Hand holds the tail from below.
	Floor, Wall, Stand, Person, Hand bool
	Strips                           bool // boards 3 mm thick and 25 mm wide, over the hinge on both skins
	Clamps                           bool // two clamps over the trailing edge
	Tape                             bool // tape 0.15 mm thick and 50 mm wide along the hinge, bridging the gap

	RibFace       RibFace // what is seen at the tip rib
	InboardClosed bool    // the panel's inboard end is closed by a face
	Ragged        float64 // how far inboard a Ragged edge reaches; 0 stands for 4 mm

	// InsideSeen is how far past the skin's outboard edge the inner side of the skins is seen through an open
	// end or inside an Overhang; the edge itself, SkinThickness wide, is then seen too.
	InsideSeen    float64
	SkinThickness float64 // 0 stands for 0.6 mm

	Holes      []Hole
	HoleShare  float64 // share of the skin's area lost in seeded holes 40 to 160 mm across
	OneSurface Surface // the only surface seen; Both for the whole wing
	NoseMissed float64 // arc round the nose that was not seen, mm
	TailMissed float64 // arc before the tail that was not seen, on each surface, mm; and the aft face
	SplitUpper Split   // the upper skin put together wrongly with the lower
}

// RibFace says what is seen at the tip rib.
type RibFace int

// The faces. With Open only the skin's edge is seen; Ragged is open and the edge irregular, all of it
// inboard of the rib's face.
const (
	Open RibFace = iota
	Closed
	Ragged
)

// Hole is a round place on a skin without points.
type Hole struct {
	Surface    Surface
	X, Station float64 // mm, of its middle, as in Bump
	Radius     float64 // mm, along the arc and the station
}

// Split is a rigid misplacement of the upper skin against the lower, in the wing frame: a small turn about
// the middle of the panel's chord plane, then a shift.
type Split struct {
	Shift r3.Vec // mm
	Turn  r3.Vec // rad about X, Y and Z
}

// Scan scans a wing. The same wing and scanner give the same scan, bit for bit. Points are in random order
// and carry no trace of what they belong to. Source is empty and Format "ply".
func Scan(w Wing, s Scanner) (*scan.Scan, *Truth, error) {
	if err := w.check(); err != nil {
		return nil, nil, err
	}
	if err := s.check(); err != nil {
		return nil, nil, err
	}
	b := newBuilder(&w, &s)
	b.clutter()
	if s.Mesh {
		b.mesh()
	} else {
		b.cloud()
	}
	b.strays()
	b.distort()
	pose := b.pose()
	return b.write(pose), newTruth(b.skin, pose, s.ScaleError), nil
}

// check says what makes a scanner impossible.
func (s *Scanner) check() error {
	if s.Points < 100 || s.Points > 20_000_000 {
		return fmt.Errorf("simulate: a scan of %d points cannot be made: ask for 100 to 20 million", s.Points)
	}
	for _, v := range []float64{s.Noise, s.CorrelatedNoise, s.NoiseLength, s.Warp, s.Strays, s.ClutterDensity,
		s.HoleShare, s.Falloff, s.Ragged, s.NoseMissed, s.TailMissed, s.InsideSeen, s.SkinThickness} {
		if !(v >= 0) || !finite(v) {
			return fmt.Errorf("simulate: %g is not a size or share of a scan", v)
		}
	}
	for _, v := range []r3.Vec{s.Pose.T, s.SplitUpper.Shift, s.SplitUpper.Turn} {
		if !finite(r3.Norm(v)) {
			return fmt.Errorf("simulate: a scan cannot be moved by %v", v)
		}
	}
	if s.Pose.Scale != 0 && s.Pose.Scale != 1 {
		return fmt.Errorf("simulate: a pose has the scale 1, not %g: use ScaleError and Unit", s.Pose.Scale)
	}
	if s.CorrelatedNoise > 0 && s.NoiseLength == 0 {
		return fmt.Errorf("simulate: correlated noise needs its length")
	}
	if s.HoleShare > 0.9 || s.Falloff > 1 || s.Strays > 10 || s.ClutterDensity > 10 || !(math.Abs(s.ScaleError) < 0.5) {
		return fmt.Errorf("simulate: a share is too large: holes %g, falloff %g, strays %g, clutter %g, scale %g",
			s.HoleShare, s.Falloff, s.Strays, s.ClutterDensity, s.ScaleError)
	}
	return nil
}

// The random streams. Each feature draws from its own, so that adding one leaves the others as they were.
const (
	sampleStream = iota + 1
	noiseStream
	fieldStream
	warpStream
	poseStream
	strayStream
	clutterStream
	holeStream
	raggedStream
	orderStream
	meshStream
)

// builder gathers a scan in the wing frame.
type builder struct {
	w         *Wing
	s         *Scanner
	skin      *skin
	area      float64 // mm^2, of both skins of the panel
	holes     []placedHole
	edge      func(s float64) float64 // station where the skin begins at an arc
	shadows   []box                   // what hides the skin
	objects   []patch                 // clutter to be sampled
	vertices  []vertex
	triangles [][3]uint32
}

// placedHole is a hole with its middle found on the curve.
type placedHole struct {
	Hole
	arc float64
}

// newBuilder prepares a scan: the skin, its area and its holes.
func newBuilder(w *Wing, s *Scanner) *builder {
	b := &builder{w: w, s: s, skin: newSkin(w)}
	b.area = b.skin.c.length() * (b.areaTo(w.Span) - b.areaTo(-w.Overhang))
	b.edge = func(float64) float64 { return -w.Overhang }
	if s.RibFace == Ragged {
		b.edge = b.ragged()
	}
	for _, h := range slices.Concat(s.Holes, b.seededHoles()) {
		for _, side := range []Surface{Upper, Lower} {
			if h.Surface.has(side) {
				b.holes = append(b.holes, placedHole{
					Hole{side, h.X, h.Station, h.Radius}, b.skin.c.arcOf(side, h.X/w.Chord),
				})
			}
		}
	}
	return b
}

// stream returns the random numbers of one feature.
func (b *builder) stream(id uint64) *rand.Rand { return rand.New(rand.NewPCG(b.s.Seed, id)) }

// areaTo returns the integral of the chord over the station from 0, mm^2.
func (b *builder) areaTo(station float64) float64 {
	return station * (b.w.Chord + b.w.Taper*station/2)
}

// stationAt returns the station below which a share of the skin's area lies.
func (b *builder) stationAt(share float64) float64 {
	from, to := b.areaTo(-b.w.Overhang), b.areaTo(b.w.Span)
	area := from + share*(to-from)
	// The root of Taper/2·s² + Chord·s - area that stays finite without taper.
	return 2 * area / (b.w.Chord + math.Sqrt(b.w.Chord*b.w.Chord+2*b.w.Taper*area))
}

// spacing returns the mean distance between neighbouring points on the skin, mm.
func (b *builder) spacing() float64 { return math.Sqrt(b.area / float64(b.s.Points)) }

// ragged returns an irregular edge: a few seeded waves round the outline.
func (b *builder) ragged() func(s float64) float64 {
	r := b.stream(raggedStream)
	reach := b.s.Ragged
	if reach == 0 {
		reach = 4
	}
	var phase, wave [6]float64
	for i := range phase {
		phase[i], wave[i] = 2*math.Pi*r.Float64(), 2*math.Pi*(4+40*r.Float64())
	}
	return func(s float64) float64 {
		sum := 0.0
		for i := range phase {
			sum += math.Sin(wave[i]*s + phase[i])
		}
		return -b.w.Overhang + reach*(0.5+0.5*math.Tanh(sum/2))
	}
}

// seededHoles returns holes at random until they take their share of the skin; overlaps are not counted.
func (b *builder) seededHoles() []Hole {
	r := b.stream(holeStream)
	var out []Hole
	for lost := 0.0; lost < b.s.HoleShare*b.area; {
		h := Hole{Surface: Upper + Surface(r.IntN(2)), X: b.w.Chord * r.Float64(), Station: b.w.Span * r.Float64(), Radius: 20 + 60*r.Float64()}
		lost += math.Pi * h.Radius * h.Radius
		out = append(out, h)
	}
	return out
}

// seen reports whether the skin at an arc and station gets into the scan; p is its point, wing frame.
func (b *builder) seen(arc, station float64, p r3.Vec) bool {
	c, chord := b.skin.c, b.w.ChordAt(station)
	side := c.side(arc)
	if !b.s.OneSurface.has(side) || c.fromNose(arc)*chord < b.s.NoseMissed/2 ||
		min(arc, c.length()-arc)*chord < b.s.TailMissed || station < b.edge(arc) {
		return false
	}
	for _, h := range b.holes {
		if h.Surface == side && math.Hypot((arc-h.arc)*chord, station-h.Station) < h.Radius {
			return false
		}
	}
	return !b.shadowed(p)
}

// inGap reports whether a place on the curve lies in the gap before the aileron.
func (b *builder) inGap(at foot, station float64) bool {
	if b.w.Hinge == 0 || b.w.HingeGap == 0 {
		return false
	}
	return math.Abs(at.p.X-b.w.Hinge)*b.w.ChordAt(station) < b.w.HingeGap/2
}
