package sheet

import (
	"fmt"
	"strconv"
)

// Assumption is one value that the sheet does not give.
type Assumption struct {
	Key   string // with its table: "filler.band"
	Value string // as the sheet would write it, TOML; empty where the sheet would leave the key out
	Why   string // where the value comes from, or what leaving the key out means
}

// Given tells whether the sheet itself holds a key, such as "filler.band".
func (s *Sheet) Given(key string) bool { return s.given[key] }

// Assumptions lists what was assumed because the sheet does not say it, in the order of the blank sheet.
// A laminate computed from plies is among them: the fibre's share of the volume is assumed. What the
// measurement lacks without being able to assume it is in [Sheet.Missing].
func (s *Sheet) Assumptions() []Assumption {
	var out []Assumption
	for _, k := range keys() {
		if s.given[k.name] || s.moot(k.name) {
			continue
		}
		out = append(out, s.assumption(k))
	}
	return out
}

// moot tells that a key has no say in this sheet.
func (s *Sheet) moot(name string) bool {
	switch name {
	case "name", "airfoil", "chord", "thickness", "tip.plies", "print.roll":
		return true
	case "aileron.droop":
		return s.Hinge == 0
	case "print.paper":
		return s.given["print.roll"]
	}
	return false
}

func (s *Sheet) assumption(k key) Assumption {
	a := Assumption{Key: k.name, Why: k.why}
	switch {
	case k.name == "tip.laminate" && len(s.Plies) > 0:
		a.Value = strconv.Quote(s.Laminate.String())
		a.Why = fmt.Sprintf("computed from the plies: areal weight / (%v kg/m3 x %v), glass at a fibre volume fraction of hand lay-up; "+
			"slurry, peel-ply weave, filler and paint are not in it: measure a sample", glassDensity, fibreFraction)
	case k.name == "wire.kerf":
		a.Value = strconv.Quote(s.Kerf.String())
	case k.standard != nil:
		a.Value = literal(k.standard)
	}
	return a
}

// Missing lists what only the builder can know and the sheet does not say: the airfoil, the chord and the
// thickness. Value is empty; Why is what follows.
func (s *Sheet) Missing() []Assumption {
	var out []Assumption
	for _, k := range keys() {
		switch k.name {
		case "airfoil", "chord", "thickness":
			if !s.given[k.name] {
				out = append(out, Assumption{Key: k.name, Why: k.why})
			}
		}
	}
	return out
}

// literal writes a default as TOML.
func literal(standard any) string {
	if text, ok := standard.(string); ok {
		return strconv.Quote(text)
	}
	return fmt.Sprint(standard)
}
