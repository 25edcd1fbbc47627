package simulate

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section"
)

// distort moves the vertices from where they are to where the scanner says they are.
func (b *builder) distort() {
	b.split()
	b.warp()
	b.correlated()
	b.noise()
	for range b.s.MeshSmooth {
		b.smooth()
	}
}

// split sets the upper skin off from the lower.
func (b *builder) split() {
	turn, shift := b.s.SplitUpper.Turn, b.s.SplitUpper.Shift
	if turn == (r3.Vec{}) && shift == (r3.Vec{}) {
		return
	}
	centre := r3.Vec{X: b.w.Chord / 2, Y: b.w.Side.Inboard() * b.w.Span / 2}
	rot := rotationAbout(turn)
	for i := range b.vertices {
		if v := &b.vertices[i]; v.on == Upper {
			v.p = r3.Add(r3.Add(centre, shift), rot.Rotate(r3.Sub(v.p, centre)))
		}
	}
}

// rotationAbout returns the rotation by |v| about v.
func rotationAbout(v r3.Vec) section.Transform {
	t := section.Identity()
	angle := r3.Norm(v)
	if angle == 0 {
		return t
	}
	r := r3.NewRotation(angle, v)
	for j, e := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		e = r.Rotate(e)
		t.R[0][j], t.R[1][j], t.R[2][j] = e.X, e.Y, e.Z
	}
	return t
}

// field is a smooth random function of position: a sum of waves whose correlation is about
// exp(-d²/(2·length²)), of unit variance (Rahimi and Recht 2007, random Fourier features; from memory).
type field struct {
	wave  []r3.Vec
	phase []float64
}

// newField draws a field.
func newField(r *rand.Rand, length float64, waves int) *field {
	f := &field{}
	for range waves {
		k := r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
		f.wave = append(f.wave, r3.Scale(1/length, k))
		f.phase = append(f.phase, 2*math.Pi*r.Float64())
	}
	return f
}

// at returns the field's value.
func (f *field) at(p r3.Vec) float64 {
	sum := 0.0
	for i, k := range f.wave {
		sum += math.Cos(r3.Dot(k, p) + f.phase[i])
	}
	return sum * math.Sqrt(2/float64(len(f.wave)))
}

// warp bends the whole scan slowly, over lengths of about its own size.
func (b *builder) warp() {
	if b.s.Warp == 0 {
		return
	}
	r := b.stream(warpStream)
	length := 0.6 * max(b.w.Chord, b.w.Span)
	x, y, z := newField(r, length, 8), newField(r, length, 8), newField(r, length, 8)
	for i := range b.vertices {
		p := b.vertices[i].p
		b.vertices[i].p = r3.Add(p, r3.Scale(b.s.Warp, r3.Vec{X: x.at(p), Y: y.at(p), Z: z.at(p)}))
	}
}

// correlated adds the noise that neighbours share; the two skins, seen from different places, share none.
func (b *builder) correlated() {
	if b.s.CorrelatedNoise == 0 {
		return
	}
	r := b.stream(fieldStream)
	fields := [...]*field{Both: newField(r, b.s.NoiseLength, 40), Upper: newField(r, b.s.NoiseLength, 40), Lower: newField(r, b.s.NoiseLength, 40)}
	for i := range b.vertices {
		v := &b.vertices[i]
		v.p = r3.Add(v.p, r3.Scale(b.s.CorrelatedNoise*fields[v.on].at(v.p), v.n))
	}
}

// noise adds each point's own noise.
func (b *builder) noise() {
	if b.s.Noise == 0 {
		return
	}
	r := b.stream(noiseStream)
	for i := range b.vertices {
		v := &b.vertices[i]
		e := r3.Scale(r.NormFloat64(), v.n)
		if b.s.Isotropic {
			e = r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
		}
		v.p = r3.Add(v.p, r3.Scale(b.s.Noise, e))
	}
}

// smooth moves every vertex inside the mesh half way to the mean of its neighbours.
func (b *builder) smooth() {
	sum := make([]r3.Vec, len(b.vertices))
	count := make([]float64, len(b.vertices))
	once := make([]uint32, len(b.vertices)) // stays 0 where each neighbour is met twice: off any open edge
	for _, t := range b.triangles {
		for i, a := range t {
			for _, n := range [2]uint32{t[(i+1)%3], t[(i+2)%3]} {
				sum[a] = r3.Add(sum[a], b.vertices[n].p)
				count[a]++
				once[a] ^= n
			}
		}
	}
	for i := range b.vertices {
		if count[i] > 0 && once[i] == 0 {
			p := &b.vertices[i].p
			*p = r3.Add(*p, r3.Scale(0.5, r3.Sub(r3.Scale(1/count[i], sum[i]), *p)))
		}
	}
}

// pose returns the transform from the wing frame (mm) to the file's frame and unit, scale error included.
func (b *builder) pose() section.Transform {
	t := b.s.Pose
	if t.Scale == 0 {
		t = section.Identity()
	}
	if b.s.RandomPose {
		r := b.stream(poseStream)
		t = randomRotation(r)
		t.T = r3.Vec{X: 3000*r.Float64() - 1500, Y: 3000*r.Float64() - 1500, Z: 3000*r.Float64() - 1500}
	}
	unit := b.s.Unit.MM()
	if unit == 0 {
		unit = 1
	}
	scale := section.Transform{R: section.Identity().R, Scale: (1 + b.s.ScaleError) / unit}
	return scale.After(t)
}

// randomRotation draws a rotation evenly: four normal numbers make an even quaternion.
func randomRotation(r *rand.Rand) section.Transform {
	v := r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
	angle := 2 * math.Atan2(r3.Norm(v), r.NormFloat64())
	return rotationAbout(r3.Scale(angle, r3.Unit(v)))
}

// farAway is the distance in file units from which a file's own origin is kept apart, to save precision.
const farAway = 10_000

// write shuffles the vertices and triangles and sets them in the scan frame.
func (b *builder) write(pose section.Transform) *scan.Scan {
	out := &scan.Scan{Format: "ply"}
	if b.s.Prescribed {
		out.Unit = b.s.Unit
	}
	if o := pose.T; r3.Norm(o) > farAway {
		out.Origin = [3]float64{math.Round(o.X), math.Round(o.Y), math.Round(o.Z)}
	}
	r := b.stream(orderStream)
	place := r.Perm(len(b.vertices))
	out.Points = make([][3]float32, len(b.vertices))
	for i, v := range b.vertices {
		p := pose.Apply(v.p)
		out.Points[place[i]] = [3]float32{
			float32(p.X - out.Origin[0]), float32(p.Y - out.Origin[1]), float32(p.Z - out.Origin[2]),
		}
	}
	for _, t := range b.triangles {
		out.Triangles = append(out.Triangles, [3]uint32{uint32(place[t[0]]), uint32(place[t[1]]), uint32(place[t[2]])})
	}
	r.Shuffle(len(out.Triangles), func(i, j int) {
		out.Triangles[i], out.Triangles[j] = out.Triangles[j], out.Triangles[i]
	})
	return out
}
