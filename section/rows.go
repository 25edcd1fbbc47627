package section

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// The rows of the polish. Each wave of the form has one value in a column of the map, which is the same at all stations
// or grows along them. So what the waves multiply with each other, nine tenths of all products, follows from three sums
// over each column's rows.

const (
	formValues  = formWaves + 1 + tailRamps // of a column: its waves', then its ramps'
	rowColumns  = 16                        // columns that are summed at a time; the sums are added in their order
	polishCells = 20_000                    // of the map, from which on neighbouring stations are taken together
)

// polishRow is one cell of the map, or a few neighbouring ones: its departure and how the parameters change it.
type polishRow struct {
	departure, se float64
	along         float64   // the station, from -1 to 1 over the panel
	own           []float64 // by each parameter
}

// polishColumn is the rows of one column of the map, and the form's values there.
type polishColumn struct {
	rows  []polishRow
	first int // number of rows in the columns before
	form  [formValues]float64
}

// polishTable is all rows. Its unknowns are the parameters, then for each wave its size and how it grows along the
// span, then the ramps.
type polishTable struct {
	columns []polishColumn
	own     int // parameters
	count   int // rows
}

func newPolishTable(columns []polishColumn, own int) *polishTable {
	t := &polishTable{columns: columns, own: own}
	for i := range columns {
		columns[i].first = t.count
		t.count += len(columns[i].rows)
	}
	return t
}

// unknowns are those of a table that are asked for: parameters and terms of the form, and the place of each in the
// answer, parameters first.
type unknowns struct {
	own  []int
	form []formTerm
	at   []int

	parts []*equations // room for the sums
}

// formTerm multiplies one of a column's values, and the station as well where along is 1.
type formTerm struct{ value, along int }

func (t *polishTable) unknowns(asked []int) *unknowns {
	var u unknowns
	var formAt []int
	for at, i := range asked {
		switch wave := i - t.own; {
		case wave < 0:
			u.own, u.at = append(u.own, i), append(u.at, at)
		case wave < 2*(formWaves+1):
			u.form, formAt = append(u.form, formTerm{wave / 2, wave % 2}), append(formAt, at)
		default:
			u.form, formAt = append(u.form, formTerm{wave - (formWaves + 1), 0}), append(formAt, at)
		}
	}
	u.at = append(u.at, formAt...)
	return &u
}

// columnSums are the sums over one column's rows of their weights, and of these times departure and parameters, by the
// power of the station.
type columnSums struct {
	weight    [3]float64
	departure [2]float64
	mixed     [2][parameters]float64
	own       [parameters][parameters]float64 // parameters with each other, the greater number first
	right     [parameters]float64             // and with the departure
}

// sum takes two rows at a time, each sum in the order of the rows; where one is left, nothing stands beside it.
func (c *polishColumn) sum(u *unknowns, misfits []float64, weight func(misfit float64) float64, s *columnSums) {
	*s = columnSums{}
	var rooms [2][parameters]float64
	one, two := rooms[0][:len(u.own)], rooms[1][:len(u.own)]
	mixed, leaning, right := s.mixed[0][:len(one)], s.mixed[1][:len(one)], s.right[:len(one)]
	for i := 0; i < len(c.rows); i += 2 {
		r := &c.rows[i]
		w := weight(misfits[i]) / (r.se * r.se)
		for a, k := range u.own {
			one[a] = r.own[k]
		}
		q, v := &polishRow{}, 0.0
		if i+1 < len(c.rows) {
			q = &c.rows[i+1]
			v = weight(misfits[i+1]) / (q.se * q.se)
			for a, k := range u.own {
				two[a] = q.own[k]
			}
		}
		wa, wd, va, vd := w*r.along, w*r.departure, v*q.along, v*q.departure
		s.weight[0] = s.weight[0] + w + v
		s.weight[1] = s.weight[1] + wa + va
		s.weight[2] = s.weight[2] + wa*r.along + va*q.along
		s.departure[0] = s.departure[0] + wd + vd
		s.departure[1] = s.departure[1] + wd*r.along + vd*q.along
		for a, x := range one {
			y := two[a]
			wx, vy := w*x, v*y
			mixed[a] = mixed[a] + wx + vy
			leaning[a] = leaning[a] + wa*x + va*y
			right[a] = right[a] + wd*x + vd*y
			row := s.own[a][:a+1]
			with, by := one[:len(row)], two[:len(row)]
			for b := range row {
				row[b] = row[b] + wx*with[b] + vy*by[b]
			}
		}
	}
}

// equations are normal equations with the parameters first; of the matrix the upper half is filled in.
type equations struct {
	n        int
	lhs, rhs []float64
}

func newEquations(n int) *equations { return &equations{n, make([]float64, n*n), make([]float64, n)} }

// add adds what a column's sums say.
func (e *equations) add(c *polishColumn, s *columnSums, u *unknowns) {
	k := len(u.own)
	var room [2 * formValues]float64
	values := room[:len(u.form)]
	for p, f := range u.form {
		values[p] = c.form[f.value]
	}
	for a := range k {
		e.rhs[a] -= s.right[a]
		row := e.lhs[a*e.n : (a+1)*e.n]
		for b := a; b < k; b++ {
			row[b] += s.own[b][a]
		}
		mixed, waves := [2]float64{s.mixed[0][a], s.mixed[1][a]}, row[k:][:len(values)]
		for p, v := range values { // what the form adds to the skin, the departure lacks
			waves[p] -= v * mixed[u.form[p].along&1]
		}
	}
	var weighted [2][2 * formValues]float64
	for p, f := range u.form {
		weighted[0][p], weighted[1][p] = values[p]*s.weight[f.along], values[p]*s.weight[f.along+1]
	}
	for p, f := range u.form {
		v := values[p]
		e.rhs[k+p] += v * s.departure[f.along]
		row, with := e.lhs[(k+p)*e.n+k+p:(k+p+1)*e.n], weighted[f.along][p:len(u.form)]
		for q, w := range with[:len(row)] {
			row[q] += v * w
		}
	}
}

// add adds the rows, each weighted by its misfit, to normal equations of the unknowns.
func (t *polishTable) add(u *unknowns, misfits []float64, weight func(misfit float64) float64, lhs *mat.SymDense, rhs *mat.VecDense) {
	if u.parts == nil {
		u.parts = make([]*equations, (len(t.columns)+rowColumns-1)/rowColumns)
		for k := range u.parts {
			u.parts[k] = newEquations(len(u.at))
		}
	}
	parts := u.parts
	scan.OnAllProcessors(len(parts), func(k int) {
		var s columnSums
		clear(parts[k].lhs)
		clear(parts[k].rhs)
		for i := k * rowColumns; i < min((k+1)*rowColumns, len(t.columns)); i++ {
			c := &t.columns[i]
			if len(c.rows) > 0 {
				c.sum(u, misfits[c.first:], weight, &s)
				parts[k].add(c, &s, u)
			}
		}
	})
	for _, e := range parts {
		for p, i := range u.at {
			rhs.SetVec(i, rhs.AtVec(i)+e.rhs[p])
			for q := p; q < e.n; q++ {
				lhs.SetSym(i, u.at[q], lhs.At(i, u.at[q])+e.lhs[p*e.n+q])
			}
		}
	}
}

// misfits fills in what is left of each row's departure with the values x of the unknowns, and returns by how much the
// one that changed most changed.
func (t *polishTable) misfits(u *unknowns, out, x []float64) (moved float64) {
	most := make([]float64, len(t.columns))
	var own [parameters]float64
	for p := range u.own {
		own[p] = x[u.at[p]]
	}
	scan.OnAllProcessors((len(t.columns)+rowColumns-1)/rowColumns, func(k int) {
		for i := k * rowColumns; i < min((k+1)*rowColumns, len(t.columns)); i++ {
			c := &t.columns[i]
			if len(c.rows) == 0 {
				continue
			}
			var form [2]float64
			for p, f := range u.form {
				form[f.along] += x[u.at[len(u.own)+p]] * c.form[f.value]
			}
			out, far := out[c.first:], most[i]
			for j := range c.rows {
				r := &c.rows[j]
				e := r.departure - form[0] - form[1]*r.along
				for p, a := range u.own {
					e += own[p] * r.own[a]
				}
				far = max(far, math.Abs(e-out[j]))
				out[j] = e
			}
			most[i] = far
		}
	})
	for _, m := range most {
		moved = max(moved, m)
	}
	return moved
}

// settle takes a parameter's value, from now on known, into the departures.
func (t *polishTable) settle(parameter int, value float64) {
	for i := range t.columns {
		for j := range t.columns[i].rows {
			r := &t.columns[i].rows[j]
			r.departure += r.own[parameter] * value
		}
	}
}

// formAt returns the form's values at an arc (share of the outline) whose chord station is x: its waves, and what the
// tail's ramps rise to.
func formAt(share, x float64) (values [formValues]float64) {
	for k := range formWaves + 1 {
		values[k] = math.Cos(float64(k) * math.Pi * share)
	}
	for k := range tailRamps {
		from := 0.6 + 0.1*float64(k)
		values[formWaves+1+k] = math.Max(0, (x-from)/(1-from))
	}
	return values
}

// polishTable returns what the polish works on: the cells of the map, those of a few neighbouring stations taken
// together where they are many.
func (f *fitter) polishTable(m *Map, s step) *polishTable {
	index, own := freeIndex(s.free), ownColumns(s)
	gap := hingeGap * f.Chord
	span := math.Max(s.hi-s.lo, 1)
	thin := f.thinColumns(m)
	together := (len(m.Cells) + polishCells - 1) / polishCells
	columns := make([]polishColumn, len(m.Arc))
	scan.OnAllProcessors(len(columns), func(j int) {
		arc, c := m.Arc[j], &columns[j]
		if thin[j] || math.Abs(arc-m.HingeArc[0]) < gap || math.Abs(arc-m.HingeArc[1]) < gap {
			return
		}
		neutral, _ := f.field.point(arc / m.Length * f.field.length())
		c.form = formAt(arc/m.Length, neutral.X)
		turned := f.Deflect(neutral)
		rows := (len(m.Station) + together - 1) / together
		c.rows = make([]polishRow, 0, rows)
		values := make([]float64, 0, rows*own)
		for k := range rows {
			departure, station, se := m.mean(k*together, min((k+1)*together, len(m.Station)), j, s.lo, s.hi)
			if se == 0 {
				continue
			}
			p := f.Place(turned, station)
			at := r3.Vec{X: p.X, Y: station * f.inboard, Z: p.Y}
			r, ok := f.at(at)
			if !ok {
				continue
			}
			jacobian := r.jacobian(at)
			for _, p := range index {
				values = append(values, jacobian[p])
			}
			if own > len(index) {
				row := f.hingeRow(neutral, &r)
				values = append(values, row[:]...)
			}
			c.rows = append(c.rows, polishRow{departure, se * math.Sqrt(oneVoice), 2*(station-s.lo)/span - 1, values[len(values)-own:]})
		}
	})
	return newPolishTable(columns, own)
}
