package section

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// The search for the wing: seeds from the matching are fitted on the coarse cloud, grown along the span as
// far as the skin goes, and compete by how much of the scan they explain. The four flips of the winner
// (nose or tail, up or down) then compete again by their residuals.

const (
	patchesPerChord = 80      // voxels of the coarse cloud along a chord
	maxPatches      = 120_000 // more than this and the voxels grow
	seedsAtOnce     = 2       // of the likeliest axis and chord
	seedsFitted     = 8       // of all, those with the most votes ...
	seedsCovered    = 4       // ... and of the others those that one slab shows best
	growth          = 0.15    // chords by which a fit grows along the span at a time
	coverBins       = 60      // bins along the arc in which the skin is looked for
	stripCover      = 0.35    // share of them that must show the skin for a fit to go on growing
	aileronPoints   = 20_000
	rivalLoss       = 2.0    // times the least loss of a place's flips from which on a flip is out of the running
	slabPoints      = 2_500  // of a slab, enough to tell its flips apart
	slabHalf        = 0.15   // chords either side of a seed that its slab reaches
	aboutHeight     = 0.5    // chords above and below a seed within which its wing lies, along any span
	growPoints      = 2_500  // near the loft, enough for a step of its growth
	worst           = 0.02   // chords: misfit at which a point counts as unexplained
	chordsApart     = 0.3    // of the logarithm: how far the chords of two flips of one wing may differ
	certainMisfit   = 0.003  // chords: spread of a wing about its own section, at most
	strangerMisfit  = 0.009  // the same about another section
	strangerOffset  = 0.012  // chords: how much fuller a wing may be than another section
	mostTaper       = 0.3    // mm of chord a mm of span: a person who stands by tapers more, a wing of an amateur's does not (common practice, no source)
	chordSlack      = 1.15   // by how much the chord at the tip may miss what the panel shows
	coarseFloor     = 0.0004 // chords: standard deviation below which coarse residuals mean nothing
)

// candidate is one pose of the wing being tried.
type candidate struct {
	fitter
	origin r3.Vec  // file units: where the points' frame has its origin
	mm     float64 // of the points' frame per file unit
	expect float64 // mm, chord that the guess and the seed let expect
	taped  bool    // a taped chord stands behind it
	misfit float64 // chords: spread about the loft that a wing may show
	lo, hi float64 // stations that the skin reaches, mm
	cover  float64 // share of the outline seen, over the span
	loss   float64 // chords, root mean square of the truncated residuals
}

// score ranks candidates of different places: how much of the outline they explain, how well, and over
// which span. The share of the outline counts most: a floor may pass for half a section along any span,
// but nothing except a wing shows nose, tail and both surfaces.
func (c *candidate) score() float64 {
	score := c.fitOf(c.cover) * math.Sqrt(math.Min((c.hi-c.lo)/c.Chord, 1))
	if !c.meetsChord() || math.Abs(c.Taper) > mostTaper {
		score /= 10
	}
	return score
}

// fitOf returns how well a candidate that shows such a share of the outline explains what it covers: 1 at best.
func (c *candidate) fitOf(cover float64) float64 {
	s := c.scale / (0.004 * c.Chord)
	return math.Pow(cover, 4) / (1 + s*s)
}

// meetsChord reports whether the chord that is expected at the tip lies within what the panel's ends show. A file
// without a unit may be read as a wing of another size, and then it does not.
func (c *candidate) meetsChord() bool {
	a, b := c.ChordAt(c.lo), c.ChordAt(c.hi)
	return !c.taped || c.expect > math.Min(a, b)/chordSlack && c.expect < math.Max(a, b)*chordSlack
}

// certain reports whether a candidate shows so much of the outline so closely that nothing but a wing can lie
// there: the search need not go on.
func (c *candidate) certain() bool {
	return c.meetsChord() && math.Abs(c.Taper) < mostTaper && c.cover > 0.85 && c.scale < c.misfit*c.Chord && c.hi-c.lo > 0.2*c.Chord
}

// coarse is the coarse cloud under one guess.
type coarse struct {
	guess   guess
	patches []patch
}

// search finds the candidates of all guesses, the best first.
func search(m *mesh, gs []guess, f *field, opt *Options) []*candidate {
	t := newTemplate(f.outline)
	var all []*candidate
	for _, g := range gs {
		cl := coarse{guess: g, patches: thinTo(m.coarse(g.chord), g.chord/patchesPerChord)}
		chords := []float64{g.chord}
		if opt.Chord > 0 {
			chords = append(chords, 1.12*g.chord) // an inboard slab of a tapered wing
		}
		axes := spanAxes(cl.patches)
		// Mostly the likeliest axis and chord show the wing at once; only where they do not are all tried.
		for _, look := range []struct {
			axes          []r3.Vec
			chords        []float64
			most, covered int
		}{{axes[:min(len(axes), 1)], chords[:1], seedsAtOnce, 0}, {axes, chords, seedsFitted, seedsCovered}} {
			seeds := findSeeds(cl.patches, look.axes, look.chords, t)
			for _, s := range promising(seeds, look.most, look.covered) {
				c := fitSeed(&cl, s, f, opt)
				if c == nil {
					continue
				}
				if opt.Airfoil == nil && c.certain() {
					c.adopt()
				}
				if c.certain() && (opt.Airfoil != nil || c.adopted()) {
					return []*candidate{c}
				}
				all = append(all, c)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b *candidate) int { return cmp.Compare(b.score(), a.score()) })
	return all
}

// promising returns the first seeds, which have the most votes, and of the others those that one slab shows best. A
// short panel is cut into few slabs, and the votes of a wardrobe that many slabs show half outnumber its own.
func promising(seeds []seed, most, covered int) []seed {
	most = min(len(seeds), most)
	rest := slices.Clone(seeds[most:])
	slices.SortStableFunc(rest, func(a, b seed) int { return cmp.Compare(b.cover, a.cover) })
	return slices.Concat(seeds[:most], rest[:min(len(rest), covered)])
}

// thinTo thins the points, with larger voxels where there would be too many.
func thinTo(points *cloud, edge float64) []patch {
	for {
		p := thin(points, edge)
		if len(p) <= maxPatches {
			return p
		}
		edge *= 1.5
	}
}

// fitSeed tries the four flips of a seed on its own slab and grows the best.
func fitSeed(cl *coarse, s seed, f *field, opt *Options) *candidate {
	points, normals := cl.about(s)
	slab, slabNormals := slabOf(points, normals, s.axis, slabHalf*s.chord*cl.scale(s))
	tried := make([]*candidate, len(flips))
	for k, fl := range flips {
		tried[k] = newCandidate(cl, s, fl, f, opt)
		tried[k].points, tried[k].normals = slab, slabNormals
	}
	tried = those(tried, func(c *candidate) bool { return c.local(0.09, 0.002, 8) })
	best := likeliest(tried)
	if best == nil {
		return nil
	}
	tried = those(tried, func(c *candidate) bool { return c.loss <= rivalLoss*best.loss && c.local(0.05, 0.001, 6) })
	if best = likeliest(tried); best == nil {
		return nil
	}
	best.points, best.normals = points, normals
	best.grow(0)
	return best
}

// those returns the candidates for which a step that only changes the candidate itself says so, all tried at once.
func those(cs []*candidate, step func(*candidate) bool) (out []*candidate) {
	held := make([]bool, len(cs))
	scan.OnAllProcessors(len(cs), func(k int) { held[k] = step(cs[k]) })
	for k, c := range cs {
		if held[k] {
			out = append(out, c)
		}
	}
	return out
}

// likeliest compares candidates of one place and returns the one with the least loss, nil where there is none.
func likeliest(cs []*candidate) *candidate {
	if len(cs) == 0 {
		return nil
	}
	compare(cs)
	return slices.MinFunc(cs, func(a, b *candidate) int { return cmp.Compare(a.loss, b.loss) })
}

// flip is one of the four ways in which a section can lie in its place.
type flip struct{ aft, span float64 }

var flips = [...]flip{{1, 1}, {1, -1}, {-1, 1}, {-1, -1}}

// newCandidate returns a candidate without points: the untapered section in the place of a seed.
func newCandidate(cl *coarse, s seed, fl flip, f *field, opt *Options) *candidate {
	c := &candidate{mm: cl.scale(s), origin: s.nose}
	x, y := r3.Scale(fl.aft, s.aft), r3.Scale(fl.span, s.axis)
	z := r3.Cross(x, y)
	c.wingFromPoints = Transform{R: [3][3]float64{{x.X, x.Y, x.Z}, {y.X, y.Y, y.Z}, {z.X, z.Y, z.Z}}, Scale: 1}
	c.field = f
	c.inboard = opt.Side.Inboard()
	c.Chord = s.chord * c.mm
	if fl.aft < 0 {
		c.wingFromPoints.T.X = c.Chord // the nose is where the seed has the tail
	}
	c.expect, c.taped, c.misfit = c.Chord, opt.Chord > 0, certainMisfit
	if opt.Airfoil == nil {
		c.misfit = strangerMisfit
	}
	c.Hinge, c.HingeZ = opt.Hinge, hingeHeight(f, opt.Hinge)
	return c
}

// scale returns how many mm a file unit is.
func (cl *coarse) scale(s seed) float64 {
	if cl.guess.mm == 0 {
		return likelyChord / s.chord
	}
	return cl.guess.mm
}

// about returns, in mm about a seed's nose, the patches that have a normal and lie in a box along the seed's axis: a
// chord before and behind the middle of its chord, and aboutHeight chords above and below.
func (cl *coarse) about(s seed) (points bulk, normals []r3.Vec) {
	middle, mm, up := r3.Add(s.nose, r3.Scale(s.chord/2, s.aft)), cl.scale(s), r3.Cross(s.axis, s.aft)
	near := joined(len(cl.patches), func(lo, hi int) (near []int) {
		for i := lo; i < hi; i++ {
			off := r3.Sub(cl.patches[i].at, middle)
			if cl.patches[i].flat > 0.3 && math.Abs(r3.Dot(off, s.aft)) < s.chord && math.Abs(r3.Dot(off, up)) < aboutHeight*s.chord {
				near = append(near, i)
			}
		}
		return near
	})
	points, normals = make(bulk, len(near)), make([]r3.Vec, len(near))
	for k, i := range near {
		points[k], normals[k] = single(r3.Scale(mm, r3.Sub(cl.patches[i].at, s.nose))), cl.patches[i].normal
	}
	return points, normals
}

// slabOf returns about slabPoints of the points that lie within half (mm) of the plane through the origin square to an
// axis, and their normals.
func slabOf(points bulk, normals []r3.Vec, axis r3.Vec, half float64) (bulk, []r3.Vec) {
	var slab []int
	for i := range points {
		if math.Abs(r3.Dot(points.at(i), axis)) < half {
			slab = append(slab, i)
		}
	}
	return pick(points, normals, slab, slabPoints)
}

// pick returns about n of the listed points, evenly taken, and their normals.
func pick(points bulk, normals []r3.Vec, list []int, n int) (picked bulk, ofPicked []r3.Vec) {
	for k := 0; k < len(list); k += max(len(list)/n, 1) {
		picked, ofPicked = append(picked, points[list[k]]), append(ofPicked, normals[list[k]])
	}
	return picked, ofPicked
}

// hingeHeight returns the middle of the section at the hinge line, chords.
func hingeHeight(f *field, hinge float64) float64 {
	if hinge <= 0 {
		return 0
	}
	return (heightAt(f.outline[:f.nose+1], hinge) + heightAt(f.outline[f.nose:], hinge)) / 2
}

// free marks parameters as free.
func free(pars ...int) (f [parameters]bool) {
	for _, p := range pars {
		f[p] = true
	}
	return f
}

// local does some rounds of fitting an untapered section to the slab about the seed, with gate and floor in chords. It
// reports false if nothing holds.
func (c *candidate) local(gate, floor float64, rounds int) bool {
	s := step{lo: -0.12 * c.Chord, hi: 0.12 * c.Chord, gate: gate * c.Chord, floor: floor * c.Chord,
		free: free(rollPar, pitchPar, yawPar, xPar, zPar, chordPar), rounds: rounds}
	s.prior = [parameters]float64{rollPar: 0.03, pitchPar: 0.2, yawPar: 0.03,
		xPar: 0.1 * c.Chord, zPar: 0.1 * c.Chord, chordPar: 0.08 * c.Chord}
	s.mean[chordPar] = c.Chord
	if c.run(s) < 30 {
		return false
	}
	c.lo, c.hi = s.lo, s.hi
	return true
}

// noWing is the refusal when nothing in the scan looks like a wing.
func noWing(best *candidate) error {
	mend := "Scan the outboard metre of the wing from all round, nose and both surfaces, and check the taped chord and the airfoil in the wing sheet."
	if best == nil {
		return scan.Refusef("no-wing", mend, "No wing was found in this scan.")
	}
	return scan.Refusef("no-wing", mend,
		"No wing was found in this scan: the best place shows %.0f %% of the section's outline and leaves %.1f mm of unexplained distance.",
		100*best.cover, best.scale)
}
