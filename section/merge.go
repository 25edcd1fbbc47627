package section

import (
	"math"

	"tipwright/scan"
)

// Merge joins the surveys of repeat scans of one side into one. The maps are averaged cell by cell, and
// where the scans differ by more than their standard errors explain, the difference widens the errors of
// all: it is the repeatability of scanner and builder together. The pose, units and scale stay those of the
// first. Merge panics if no survey is given; a single one is returned as it is.
func Merge(surveys []*Survey) *Survey {
	if len(surveys) == 1 {
		return surveys[0]
	}
	out := *surveys[0]
	n := float64(len(surveys))
	out.Chord = pool(surveys, func(s *Survey) Measured { return s.Chord })
	out.Taper = pool(surveys, func(s *Survey) Measured { return s.Taper })
	out.Twist = pool(surveys, func(s *Survey) Measured { return s.Twist })
	out.Sweep = pool(surveys, func(s *Survey) Measured { return s.Sweep })
	out.Loft.Chord, out.Loft.Taper, out.Loft.Twist = out.Chord.Value, out.Taper.Value, out.Twist.Value
	if out.Deflection != nil {
		d := pool(surveys, func(s *Survey) Measured { return *s.Deflection })
		out.Deflection, out.Loft.Deflection = &d, d.Value
	}
	out.Noise, out.Messages = 0, nil
	for _, s := range surveys {
		out.Noise += s.Noise / n
		out.Coverage = math.Max(out.Coverage, s.Coverage)
		out.Stations = math.Min(out.Stations, s.Stations)
		out.Messages = append(out.Messages, s.Messages...)
	}
	var apart float64
	out.Map, apart = mergeMaps(surveys)
	out.Messages = append(out.Messages, scan.Notef("repeats-joined",
		"%d scans of this side were measured together. Where they can be compared they differ by %.2f mm (standard deviation), which is part of every uncertainty.", len(surveys), apart))
	return &out
}

// pool averages a quantity over repeats; its uncertainty is the larger of what each scan claims, averaged,
// and what their spread says.
func pool(surveys []*Survey, get func(*Survey) Measured) Measured {
	n := float64(len(surveys))
	var sum, claimed float64
	for _, s := range surveys {
		sum += get(s).Value
		claimed += get(s).U * get(s).U
	}
	m := Measured{Value: sum / n, U: math.Sqrt(claimed) / n}
	var spread float64
	for _, s := range surveys {
		d := get(s).Value - m.Value
		spread += d * d
	}
	m.U = math.Max(m.U, 2*math.Sqrt(spread/(n*(n-1))))
	return m
}

// mergeMaps averages maps on the first one's grid. apart is the standard deviation by which the scans
// differ beyond their own errors, mm.
func mergeMaps(surveys []*Survey) (m Map, apart float64) {
	m = surveys[0].Map
	rows := len(m.Station)
	for _, s := range surveys {
		rows = min(rows, len(s.Map.Station))
	}
	m.Station = m.Station[:rows]
	m.Cells = make([]Cell, rows*len(m.Arc))
	var excess, count float64
	for i := range rows {
		for j, arc := range m.Arc {
			var w, sum, square float64
			points, seen := 0, 0
			for _, s := range surveys {
				column := min(int(arc/m.Length*float64(len(s.Map.Arc))), len(s.Map.Arc)-1)
				c := s.Map.At(i, column)
				if c.N == 0 || c.SE <= 0 {
					continue
				}
				v := 1 / (c.SE * c.SE)
				w, sum, square = w+v, sum+v*c.Departure, square+v*c.Departure*c.Departure
				points += c.N
				seen++
			}
			if seen == 0 {
				continue
			}
			*m.At(i, j) = Cell{Departure: sum / w, SE: 1 / math.Sqrt(w), N: points}
			if seen > 1 {
				// Expected (seen-1) if the errors tell all; what is over is variance between the scans.
				excess += (square - sum*sum/w - float64(seen-1)) / w * float64(seen)
				count += float64(seen - 1)
			}
		}
	}
	if count == 0 || excess <= 0 {
		return m, 0
	}
	between := excess / count
	for k := range m.Cells {
		if c := &m.Cells[k]; c.N > 0 {
			c.SE = math.Sqrt(c.SE*c.SE + between/float64(len(surveys)))
		}
	}
	return m, math.Sqrt(between)
}
