package section

import (
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// crowded is a wing 800 mm long that shows more points than are kept: every fifth lies far off it, the others 0.2 mm
// above the skin.
func crowded(t *testing.T) (w *work, near int) {
	t.Helper()
	f := testFitter(t, "NACA 23012")
	s := &scan.Scan{Points: make([][3]float32, 2_800_000)}
	r := rand.New(rand.NewPCG(5, 6))
	const different = 40_000 // points; the others repeat them
	for i := range s.Points {
		if i%5 != 0 {
			near++
		}
		switch {
		case i >= different:
			s.Points[i] = s.Points[i-different]
		case i%5 == 0:
			s.Points[i] = [3]float32{float32(3000 * r.Float64()), float32(-1000 * r.Float64()), -700}
		default:
			arc, station := f.field.length()*(0.02+0.96*r.Float64()), 800*r.Float64()
			neutral, normal := f.field.point(arc)
			p := f.Place(f.Deflect(r2.Add(neutral, r2.Scale(0.2/1100, normal))), station)
			s.Points[i] = single(r3.Vec{X: p.X, Y: station * f.inboard, Z: p.Y})
		}
	}
	c := &candidate{fitter: *f, mm: 1, hi: 800}
	return &work{points: newMesh(s), best: c}, near
}

// allocated returns how many bytes a step asks for in all.
func allocated(step func()) int {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	step()
	runtime.ReadMemStats(&after)
	return int(after.TotalAlloc - before.TotalAlloc)
}

// Of a scan with many points all near the wing go into the map, but what is kept of them is bounded, and so is what the
// map needs for each.
func TestManyPoints(t *testing.T) {
	w, near := crowded(t)
	c := w.best
	const little = 24 << 20 // bytes, whatever the number of points
	var share bulk
	took := allocated(func() { c.points, share = w.near(c) })
	if n := w.marked.count(); n != near {
		t.Errorf("%d points lie near the wing, want %d", n, near)
	}
	if n := len(c.points); n < samplePoints || n >= 2*samplePoints {
		t.Errorf("%d of %d points are kept", n, near)
	}
	if len(share) < sharePoints/4 || len(share) > sharePoints {
		t.Errorf("the share has %d points", len(share))
	}
	if most := 2*12*samplePoints + near/8 + little; took > most {
		t.Errorf("telling the near points takes %d bytes, want no more than %d", took, most)
	}
	m := c.newMap(c.hi)
	var noise float64
	var on int
	took = allocated(func() { noise, on = c.depart(&m, w.everyPoint(), 0, c.hi, false) })
	if most := 5*near + little; took > most {
		t.Errorf("the map takes %d bytes, want no more than %d", took, most)
	}
	if on < near*99/100 || noise > 0.02 {
		t.Errorf("%d of %d points count, with a noise of %.3f mm", on, near, noise)
	}
	seen := 0
	for _, cell := range m.Cells {
		if seen += cell.N; cell.N > 0 && math.Abs(cell.Departure-0.2) > 0.02 {
			t.Fatalf("a cell departs by %.3f mm, want 0.2", cell.Departure)
		}
	}
	if seen < near*98/100 {
		t.Errorf("%d of %d points count in the map", seen, near)
	}
}
