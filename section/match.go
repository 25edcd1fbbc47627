package section

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// The matching finds where in a cluttered scan a wing may lie. The coarse cloud is cut into slabs square
// to a candidate span axis; in each slab a generalised Hough transform (Ballard, Pattern Recognition 13
// (1981) 111) asks every patch, by the direction of its normal, where the leading edge would be if the
// patch lay on the section. Floors, stands and walls scatter their votes; a section gathers them. Places
// that several slabs agree on are the seeds of the fit.
//
// The template is the section without its camber, which is its own mirror image: up and down are decided
// later, by the fit.

const (
	slabWidth     = 0.09 // chords
	templateCount = 80   // template points, evenly spaced along the arc
	turnSteps     = 60   // turns of the template tried, 6 degrees apart
	turnsLooked   = 16   // of them, those with the most votes, of which the cover is counted
	leastVotes    = 8
	normalBins    = 30   // directions of a normal without sign, 6 degrees each
	voteCell      = 0.05 // chords
	coverReach    = 0.03 // chords: a template point is covered if a patch lies so near
)

// seed is a place where a wing may lie, in file units.
type seed struct {
	axis   r3.Vec // along the span; the sign carries no meaning yet
	nose   r3.Vec // leading edge in the middle of the slab
	aft    r3.Vec // unit vector along the chord
	chord  float64
	middle float64 // position of the slab along axis
	cover  float64 // share of the template that the slab shows, 0 to 1
	votes  float64 // sum of cover over the slabs that agree
}

// template is the camberless section: points and the direction of their normals.
type template struct {
	at    []r2.Vec
	angle []float64
}

func newTemplate(outline []r2.Vec) template {
	f := newLine(symmetric(outline))
	var t template
	for i := range templateCount {
		p, n := f.point(f.length() * (float64(i) + 0.5) / templateCount)
		t.at = append(t.at, p)
		t.angle = append(t.angle, math.Atan2(n.Y, n.X))
	}
	return t
}

// symmetric takes the camber out of an outline: half the distance between the skins at each station.
func symmetric(outline []r2.Vec) []r2.Vec {
	nose := 0
	for i, p := range outline {
		if p.X < outline[nose].X {
			nose = i
		}
	}
	const n = 200
	out := make([]r2.Vec, 2*n+1)
	for i := range n + 1 {
		x := (1 - math.Cos(math.Pi*float64(n-i)/n)) / 2
		h := (heightAt(outline[:nose+1], x) - heightAt(outline[nose:], x)) / 2
		if i == n {
			h = 0
		}
		out[i], out[2*n-i] = r2.Vec{X: x, Y: h}, r2.Vec{X: x, Y: -h}
	}
	return out
}

// heightAt interpolates one surface (a polyline monotone in x) at x.
func heightAt(line []r2.Vec, x float64) float64 {
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		if (a.X-x)*(b.X-x) <= 0 && a.X != b.X {
			return a.Y + (b.Y-a.Y)*(x-a.X)/(b.X-a.X)
		}
	}
	if math.Abs(line[0].X-x) < math.Abs(line[len(line)-1].X-x) {
		return line[0].Y
	}
	return line[len(line)-1].Y
}

// findSeeds tries every candidate axis and chord and returns the best distinct places, the best first.
func findSeeds(patches []patch, axes []r3.Vec, chords []float64, t template) []seed {
	type task struct {
		axis, u, v r3.Vec
		chord      float64
		slab       slab
	}
	var tasks []task
	for _, a := range axes {
		u, v := across(a)
		for _, c := range chords {
			for _, s := range slabs(patches, a, u, v, slabWidth*c) {
				tasks = append(tasks, task{a, u, v, c, s})
			}
		}
	}
	found := make([][]seed, len(tasks))
	scan.OnAllProcessors(len(tasks), func(i int) {
		k := &tasks[i]
		found[i] = seedsIn(k.slab, k.axis, k.u, k.v, k.chord, t)
	})
	return gather(slices.Concat(found...))
}

// gather merges seeds that mean the same place and sorts by the support of all slabs.
func gather(all []seed) []seed {
	slices.SortStableFunc(all, func(a, b seed) int { return cmp.Compare(b.cover, a.cover) })
	var out []seed
	for _, s := range all {
		if i := slices.IndexFunc(out, func(o seed) bool { return o.same(s) }); i >= 0 {
			out[i].votes += s.cover
		} else {
			s.votes = s.cover
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b seed) int { return cmp.Compare(b.votes, a.votes) })
	return out
}

// same reports whether two seeds mean the same wing, perhaps in different slabs.
func (s seed) same(o seed) bool {
	along := r3.Sub(o.nose, s.nose)
	off := r3.Norm(r3.Sub(along, r3.Scale(r3.Dot(along, s.axis), s.axis)))
	return math.Abs(r3.Dot(s.axis, o.axis)) > 0.98 && r3.Dot(s.aft, o.aft) > 0.96 &&
		math.Abs(math.Log(s.chord/o.chord)) < 0.2 && off < 0.15*s.chord
}

// slab is one slice of the coarse cloud, projected along the axis and thinned again.
type slab struct {
	at     []r2.Vec
	angle  []float64 // of the normal, radians, sign without meaning
	bin    []int     // of the normal
	middle float64
}

// slabs cuts the cloud along the axis.
func slabs(patches []patch, axis, u, v r3.Vec, width float64) []slab {
	byPlace := map[int][]int32{}
	for i := range patches {
		if p := &patches[i]; p.flat > 0.5 && math.Abs(r3.Dot(p.normal, axis)) < 0.5 {
			place := int(math.Floor(r3.Dot(p.at, axis) / width))
			byPlace[place] = append(byPlace[place], int32(i))
		}
	}
	var places []int
	for place, list := range byPlace {
		if len(list) > templateCount/2 {
			places = append(places, place)
		}
	}
	slices.Sort(places)
	out := make([]slab, len(places))
	scan.OnAllProcessors(len(places), func(k int) {
		s := slab{middle: (float64(places[k]) + 0.5) * width}
		cell := width / 7
		list := byPlace[places[k]]
		seen := make(map[[2]int]bool, len(list)/2)
		for _, i := range list {
			p := &patches[i]
			q := r2.Vec{X: r3.Dot(p.at, u), Y: r3.Dot(p.at, v)}
			key := [2]int{int(math.Floor(q.X / cell)), int(math.Floor(q.Y / cell))}
			if !seen[key] {
				seen[key] = true
				angle := math.Atan2(r3.Dot(p.normal, v), r3.Dot(p.normal, u))
				s.at, s.angle, s.bin = append(s.at, q), append(s.angle, angle), append(s.bin, normalBin(angle))
			}
		}
		out[k] = s
	})
	return out
}

// seedsIn matches one axis, with the two directions across it, and one chord in a slab.
func seedsIn(s slab, axis, u, v r3.Vec, chord float64, t template) []seed {
	votes := newVoting(s, chord)
	var best []seed
	for _, w := range votes.winners(s, t, chord) {
		cover := votes.cover(s, t, w.turn, chord, w.at)
		if cover < 0.25 {
			continue
		}
		sin, cos := math.Sincos(w.turn)
		best = append(best, seed{
			axis: axis, chord: chord, middle: s.middle, cover: cover,
			nose: r3.Add(r3.Add(r3.Scale(w.at.X, u), r3.Scale(w.at.Y, v)), r3.Scale(s.middle, axis)),
			aft:  r3.Add(r3.Scale(cos, u), r3.Scale(sin, v)),
		})
	}
	slices.SortStableFunc(best, func(a, b seed) int { return cmp.Compare(b.cover, a.cover) })
	return best[:min(len(best), 4)]
}

// voting is the accumulator over places of the leading edge in one slab, and an index of its points.
type voting struct {
	origin r2.Vec
	cell   float64
	nx, ny int
	count  []uint16
	at     []r2.Vec // the slab's points from the origin, in cells
	reach  float64
	near   nearGrid
}

const maxVotingCells = 1 << 20

func newVoting(s slab, chord float64) *voting {
	lo, hi := s.at[0], s.at[0]
	for _, p := range s.at {
		lo = r2.Vec{X: math.Min(lo.X, p.X), Y: math.Min(lo.Y, p.Y)}
		hi = r2.Vec{X: math.Max(hi.X, p.X), Y: math.Max(hi.Y, p.Y)}
	}
	v := &voting{cell: voteCell * chord, reach: coverReach * chord}
	v.near = newNearGrid(s.at, lo, hi, v.reach)
	v.origin = r2.Sub(lo, r2.Vec{X: chord, Y: chord})
	span := r2.Add(r2.Sub(hi, lo), r2.Vec{X: 2 * chord, Y: 2 * chord})
	for span.X/v.cell*span.Y/v.cell > maxVotingCells {
		v.cell *= 1.5
	}
	v.nx, v.ny = int(span.X/v.cell)+1, int(span.Y/v.cell)+1
	v.count = make([]uint16, v.nx*v.ny)
	v.at = make([]r2.Vec, len(s.at))
	for i, p := range s.at {
		v.at[i] = r2.Vec{X: (p.X - v.origin.X) / v.cell, Y: (p.Y - v.origin.Y) / v.cell}
	}
	return v
}

// nearGrid lists points by cells no smaller than a reach, so that all within reach of a place lie in nine of them.
type nearGrid struct {
	lo     r2.Vec
	cell   float64
	nx, ny int
	first  []int32 // of each cell, into points; one longer than the cells
	points []int32
}

func newNearGrid(points []r2.Vec, lo, hi r2.Vec, reach float64) nearGrid {
	g := nearGrid{lo: lo, cell: reach * (1 + 1e-9)} // more than rounding makes up for
	span := r2.Sub(hi, lo)
	for span.X/g.cell*span.Y/g.cell > maxVotingCells/8 {
		g.cell *= 1.5
	}
	g.nx, g.ny = int(span.X/g.cell)+1, int(span.Y/g.cell)+1
	g.first, g.points = make([]int32, g.nx*g.ny+1), make([]int32, len(points))
	cells := make([]int32, len(points))
	for i, p := range points {
		x, y := g.place(p)
		cells[i] = int32(y*g.nx + x)
		g.first[cells[i]+1]++
	}
	for c := range g.nx * g.ny {
		g.first[c+1] += g.first[c]
	}
	next := slices.Clone(g.first)
	for i, c := range cells {
		g.points[next[c]] = int32(i)
		next[c]++
	}
	return g
}

// place returns the column and row of a place, which may lie beyond the grid.
func (g *nearGrid) place(p r2.Vec) (x, y int) {
	return int(math.Floor((p.X - g.lo.X) / g.cell)), int(math.Floor((p.Y - g.lo.Y) / g.cell))
}

// winner is the place that won the vote at one turn.
type winner struct {
	turn  float64 // rad
	at    r2.Vec
	votes uint16
}

// winners returns the places with the most votes, the best first: as many turns as are worth a closer look.
func (v *voting) winners(s slab, t template, chord float64) []winner {
	var out []winner
	for k := range turnSteps {
		turn := 2 * math.Pi * float64(k) / turnSteps
		if w := v.place(s, t, turn, chord); w.votes >= leastVotes {
			out = append(out, w)
		}
	}
	slices.SortStableFunc(out, func(a, b winner) int { return cmp.Compare(b.votes, a.votes) })
	return out[:min(len(out), turnsLooked)]
}

// place lets the slab vote for the leading edge of the template at one turn and returns the winner.
func (v *voting) place(s slab, t template, turn, chord float64) winner {
	clear(v.count)
	bins := t.turned(turn, chord/v.cell)
	best, most := 0, uint16(0)
	count, nx, ny := v.count, v.nx, v.ny
	for i, p := range v.at {
		b := s.bin[i]
		for d := -1; d <= 1; d++ {
			for _, q := range bins.of((b + d + normalBins) % normalBins) {
				x, y := int(p.X-q.X), int(p.Y-q.Y)
				if uint(x) >= uint(nx) || uint(y) >= uint(ny) { // or less than 0
					continue
				}
				k := y*nx + x
				n := count[k] + 1
				count[k] = n
				if n > most {
					best, most = k, n
				}
			}
		}
	}
	at := r2.Vec{X: float64(best%v.nx) + 0.5, Y: float64(best/v.nx) + 0.5}
	return winner{turn, r2.Add(v.origin, r2.Scale(v.cell, at)), most}
}

// turnedTemplate is the points of a template by the bins of their normals.
type turnedTemplate struct {
	at    [templateCount]r2.Vec
	first [normalBins + 1]int
}

// of returns the points of a bin.
func (t *turnedTemplate) of(bin int) []r2.Vec { return t.at[t.first[bin]:t.first[bin+1]] }

// turned returns the template turned and as large as so many of the units in which its points are told.
func (t *template) turned(turn, size float64) (out turnedTemplate) {
	sin, cos := math.Sincos(turn)
	var bins [templateCount]int
	for j := range t.at {
		bins[j] = normalBin(t.angle[j] + turn)
		out.first[bins[j]+1]++
	}
	for b := range normalBins {
		out.first[b+1] += out.first[b]
	}
	next := out.first
	for j, p := range t.at {
		out.at[next[bins[j]]] = r2.Vec{X: size * (cos*p.X - sin*p.Y), Y: size * (sin*p.X + cos*p.Y)}
		next[bins[j]]++
	}
	return out
}

// normalBin returns the bin of a normal whose sign carries no meaning.
func normalBin(angle float64) int {
	a := math.Mod(angle, math.Pi)
	if a < 0 {
		a += math.Pi
	}
	return int(a/math.Pi*normalBins) % normalBins
}

// cover returns the share of the template, placed with its leading edge at the given point, that has a
// patch of the slab beside it with the same direction.
func (v *voting) cover(s slab, t template, turn, chord float64, at r2.Vec) float64 {
	sin, cos := math.Sincos(turn)
	hits := 0
	for j, p := range t.at {
		q := r2.Add(at, r2.Vec{X: chord * (cos*p.X - sin*p.Y), Y: chord * (sin*p.X + cos*p.Y)})
		if v.hit(s, q, t.angle[j]+turn) {
			hits++
		}
	}
	return float64(hits) / float64(len(t.at))
}

func (v *voting) hit(s slab, q r2.Vec, angle float64) bool {
	g := &v.near
	x, y := g.place(q)
	left, right := max(x-1, 0), min(x+1, g.nx-1)
	for row := max(y-1, 0); row <= min(y+1, g.ny-1) && left <= right; row++ {
		for _, i := range g.points[g.first[row*g.nx+left]:g.first[row*g.nx+right+1]] {
			if r2.Norm2(r2.Sub(s.at[i], q)) < v.reach*v.reach && math.Abs(math.Cos(angle-s.angle[i])) > 0.9 {
				return true
			}
		}
	}
	return false
}
