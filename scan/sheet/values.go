package sheet

import (
	"fmt"
	"maps"
	"math"
	"slices"
)

// mostDroop bounds the designer's neutral: no aileron is rigged further off than this (invented bound).
const mostDroop = 20 * math.Pi / 180 // rad

func readDroop(s *Sheet, data any) error {
	text, ok := data.(string)
	if !ok {
		return mendf(`write the angle with its unit in quotes, as in "-1.5 deg"`, "%s is not an angle", kind(data))
	}
	a, err := ParseAngle(text)
	if err != nil {
		return err
	}
	if !(math.Abs(a) <= mostDroop) {
		return mendf("check the angle: it must lie between -20 and 20 deg", "%q cannot be", text)
	}
	s.Droop = a
	return nil
}

func readDensity(s *Sheet, data any) error {
	n, ok := plainNumber(data)
	switch {
	case !ok:
		return mendf("write kg/m3 as a plain number without quotes, as in 450", "%s is not a plain number", kind(data))
	case n >= 0.1 && n <= 3:
		return mendf(fmt.Sprintf("write %v if %v g/cm3 is meant", math.Round(n*1000), n), "a filler of %v kg/m3 cannot be", n)
	case n < 50 || n > 3000:
		return mendf("it must lie between 50 and 3000 kg/m3", "a filler of %v kg/m3 cannot be", n)
	}
	s.Density = n
	return nil
}

func readPaper(s *Sheet, data any) error {
	if n := paperNamed(data); n >= 0 {
		s.Paper = papers()[n]
		return nil
	}
	_, err := choice(data, "letter", "legal", "tabloid", "A4", "A3")
	return err
}

func paperNamed(data any) int {
	return slices.IndexFunc(papers(), func(p Paper) bool {
		name, err := choice(data, p.Name, p.Name)
		return err == nil && name == p.Name
	})
}

func readRoll(s *Sheet, data any) error {
	width, err := lengthIn(data, 150, 2000)
	if err == nil {
		s.Paper = Paper{Name: "roll", Width: width.MM()}
	}
	return err
}

// mostPlies bounds the list of plies and the count of each.
const mostPlies = 50

func readPlies(s *Sheet, data any) error {
	rows, ok := tables(data)
	if !ok || len(rows) == 0 || len(rows) > mostPlies {
		return mendf(`write [{weight = "200 g/m2", count = 2}]`, "%s is not a list of plies", kind(data))
	}
	plies := make([]Ply, len(rows))
	for i, row := range rows {
		p, err := readPly(row)
		if err != nil {
			return inPly(i, err)
		}
		plies[i] = p
	}
	s.Plies, s.Laminate = plies, laminateOf(plies)
	return nil
}

// tables takes a list of tables in either way of writing it.
func tables(data any) ([]map[string]any, bool) {
	switch list := data.(type) {
	case []map[string]any:
		return list, true
	case []any:
		rows := make([]map[string]any, len(list))
		for i, item := range list {
			row, ok := item.(map[string]any)
			if !ok {
				return nil, false
			}
			rows[i] = row
		}
		return rows, true
	}
	return nil, false
}

func readPly(row map[string]any) (Ply, error) {
	for _, name := range slices.Sorted(maps.Keys(row)) {
		if name != "weight" && name != "count" {
			return Ply{}, mendf("a ply has a weight and a count", "%q is not known here", name)
		}
	}
	text, ok := row["weight"].(string)
	if !ok {
		return Ply{}, mendf(`write weight = "200 g/m2"`, "the cloth's weight is missing or has no unit")
	}
	w, err := ParseArealWeight(text)
	if err != nil {
		return Ply{}, err
	}
	if !(w >= 10 && w <= 2000) {
		return Ply{}, mendf("it must lie between 10 and 2000 g/m2", "a cloth of %q cannot be", text)
	}
	count := int64(1)
	if c, given := row["count"]; given {
		if count, ok = c.(int64); !ok || count < 1 || count > mostPlies {
			return Ply{}, mendf("write how many plies, a whole number from 1 to 50", "%s plies cannot be", kind(c))
		}
	}
	return Ply{Weight: w, Count: int(count)}, nil
}

func inPly(i int, err error) error {
	if m, ok := err.(*mendError); ok {
		return mendf(m.mend, "ply %d: %s", i+1, m.msg)
	}
	return fmt.Errorf("ply %d: %w", i+1, err)
}
