package fit

import "tipwright/scan"

// score is what a block of cells pulls at each coefficient. Of the functions of the spline it has the few that the block
// reaches over.
type score struct {
	from, to int       // index of the first coefficient of these, and of the one after the last,
	spline   []float64 // and what pulls at them
	border   int       // index of the first coefficient of all other functions,
	rest     []float64 // and what pulls at them
}

// dot returns the sum of the score's entries times those of x.
func (g *score) dot(x []float64) (sum float64) {
	for k, v := range g.spline {
		sum += v * x[g.from+k]
	}
	for k, v := range g.rest {
		sum += v * x[g.border+k]
	}
	return sum
}

// each calls visit with each entry that is not nought.
func (g *score) each(visit func(i int, v float64)) {
	for k, v := range g.spline {
		if v != 0 {
			visit(g.from+k, v)
		}
	}
	for k, v := range g.rest {
		if v != 0 {
			visit(g.border+k, v)
		}
	}
}

// at returns where the entries from a coefficient on are kept.
func (g *score) at(i int) []float64 {
	if i < g.border {
		return g.spline[i-g.from:]
	}
	return g.rest[i-g.border:]
}

// scores returns the scores of each block of cells that bears weight. They hold until the next call.
func (f *form) scores(p *panel, weights, residual []float64) []score {
	var blocks []block
	for _, rows := range blockStarts(p.station, blockStation) {
		for _, columns := range blockStarts(p.arc, blockArc) {
			b := block{rows: rows, columns: columns}
			if b.bears(weights, p.columns()) {
				blocks = append(blocks, b)
			}
		}
	}
	out := make([]score, len(blocks))
	size := 0
	for k := range blocks {
		out[k] = f.emptyScore(&blocks[k], p)
		size += len(f.coef) - out[k].border + out[k].to - out[k].from
	}
	r := f.ownRoom()
	r.scores = cleared(r.scores, size)
	all := r.scores
	for k := range out {
		g := &out[k]
		g.spline, all = all[:g.to-g.from], all[g.to-g.from:]
		g.rest, all = all[:len(f.coef)-g.border], all[len(f.coef)-g.border:]
	}
	sags := f.ribRows(p)
	scan.OnAllProcessors((len(out)+scoresAtOnce-1)/scoresAtOnce, func(chunk int) {
		pull := make([]float64, p.rows())
		for k := chunk * scoresAtOnce; k < min((chunk+1)*scoresAtOnce, len(out)); k++ {
			f.fillScore(&out[k], &blocks[k], p, weights, residual, pull, sags)
		}
	})
	return out
}

// scoresAtOnce is how many blocks' scores one processor takes at a time.
const scoresAtOnce = 16

// block is a part of the panel, each from the first to the one after the last.
type block struct{ rows, columns [2]int }

// blockStarts parts rising places into blocks of a size.
func blockStarts(places []float64, size float64) (out [][2]int) {
	for from := 0; from < len(places); {
		to := from
		for to < len(places) && int(places[to]/size) == int(places[from]/size) {
			to++
		}
		out = append(out, [2]int{from, to})
		from = to
	}
	return out
}

// bears reports whether a block has cells with weight.
func (b *block) bears(weights []float64, columns int) bool {
	for i := b.rows[0]; i < b.rows[1]; i++ {
		for _, w := range weights[i*columns+b.columns[0] : i*columns+b.columns[1]] {
			if w != 0 {
				return true
			}
		}
	}
	return false
}

// emptyScore returns the score of a block without its numbers.
func (f *form) emptyScore(b *block, p *panel) score {
	first, _ := f.basis.at(p.arc[b.columns[0]])
	last, _ := f.basis.at(p.arc[b.columns[1]-1])
	return score{from: first * f.orders, to: (last + 4) * f.orders, border: f.basis.size() * f.orders}
}

// fillScore adds up the score of a block. pull is room for the weighted residuals of a column.
func (f *form) fillScore(g *score, b *block, p *panel, weights, residual, pull []float64, sags []ribRow) {
	nc, n := p.columns(), f.orders
	rows := f.rows[b.rows[0]:b.rows[1]]
	pull = pull[:len(rows)]
	for j := b.columns[0]; j < b.columns[1]; j++ {
		for i := range pull {
			k := (b.rows[0]+i)*nc + j
			pull[i] = weights[k] * residual[k]
		}
		e := &f.column[j]
		for a, index := range e.index[:e.n] {
			addPulls(g.at(index * n)[:n], pull, rows, e.value[a])
		}
		if !f.sags {
			continue
		}
		base, fade := f.ribBase(p.arc[j]), f.fade(p.arc[j])
		for i, v := range pull {
			sag := &sags[b.rows[0]+i]
			line := g.at(base + sag.first)
			for a, s := range sag.value {
				line[a] += v * fade * s
			}
		}
	}
}

// addPulls adds what a column's cells pull at the orders of a function that has the given value there.
func addPulls(line, pull []float64, rows [][mostOrders]float64, value float64) {
	var sum [mostOrders]float64
	copy(sum[:], line)
	s0, s1, s2, s3, s4 := sum[0], sum[1], sum[2], sum[3], sum[4]
	rows = rows[:len(pull)]
	for i, v := range pull {
		s := &rows[i]
		v *= value
		s0 += v * s[0]
		s1 += v * s[1]
		s2 += v * s[2]
		s3 += v * s[3]
		s4 += v * s[4]
	}
	sum = [mostOrders]float64{s0, s1, s2, s3, s4}
	copy(line, sum[:])
}
