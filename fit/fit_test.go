package fit

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tipwright/scan"
	"tipwright/section"
)

func TestSameTwice(t *testing.T) {
	t.Parallel()
	w := small()
	w.scatter(2, 0.15, 240)
	a, b := fitted(t, &w, 5, wishes()), fitted(t, &w, 5, wishes())
	for _, r := range []*Result{a, b} {
		r.work, r.Survey = nil, nil
	}
	if fmt.Sprintf("%+v", a) != fmt.Sprintf("%+v", b) { // NaN, for no hinge line, equals itself here
		t.Error("two fits of one survey differ")
	}
}

func TestSurveyStaysAsItWas(t *testing.T) {
	t.Parallel()
	w := small()
	w.scatter(2, 0.15, 240)
	s, again := w.survey(t, 5), w.survey(t, 5)
	if _, err := Fit(s, wishes()); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(s.Map.Cells, again.Map.Cells) || !slices.Equal(s.Map.Arc, again.Map.Arc) ||
		!slices.Equal(s.Map.Station, again.Map.Station) || !reflect.DeepEqual(s.Loft, again.Loft) {
		t.Error("the fit changed the survey")
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	w := small()
	whole := w.survey(t, 1)
	empty := *whole
	empty.Map.Cells = make([]section.Cell, len(whole.Map.Cells))
	short := *whole
	short.Map.Cells = whole.Map.Cells[:10]
	noMap := *whole
	noMap.Map = section.Map{}
	for name, s := range map[string]*section.Survey{
		"no survey": nil, "nothing seen": &empty, "cells missing": &short, "no map": &noMap, "no loft": {},
	} {
		_, err := Fit(s, wishes())
		var refusal *scan.RefusalError
		if !errors.As(err, &refusal) || refusal.Mend == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	thick := wishes()
	thick.Laminate = 300
	if _, err := Fit(whole, thick); err == nil {
		t.Error("a laminate thicker than the wing leaves a block")
	}
}

// Whatever the cells hold, the fit ends with a refusal or with finite figures.
func TestFiniteWhateverComes(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := small()
		w.columns, w.rows, w.points = 25, 20, 1e5
		w.span = rapid.SampledFrom([]float64{20, 70, 300}).Draw(t, "span")
		if rapid.Bool().Draw(t, "hinged") {
			w.hinge = 0.7
		}
		s := w.survey(t, 1)
		odd := []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -3, 14, 1e300}
		for range rapid.IntRange(0, 300).Draw(t, "odd cells") {
			c := &s.Map.Cells[rapid.IntRange(0, len(s.Map.Cells)-1).Draw(t, "cell")]
			switch rapid.IntRange(0, 3).Draw(t, "what") {
			case 0:
				c.N = 0
			case 1:
				c.SE = rapid.SampledFrom(odd).Draw(t, "se")
			case 2:
				c.Departure = rapid.SampledFrom(odd[:6]).Draw(t, "departure")
			default:
				c.SE = 1e-9
			}
		}
		if from := rapid.IntRange(0, 75).Draw(t, "gap from"); rapid.Bool().Draw(t, "gap") {
			for k := range s.Map.Cells {
				if j := k % len(s.Map.Arc); j >= from && j < from+40 {
					s.Map.Cells[k].N = 0
				}
			}
		}
		opt := wishes()
		opt.Band = rapid.SampledFrom([]float64{0, 50, 300, 5000}).Draw(t, "band")
		opt.TargetNominal = rapid.Bool().Draw(t, "nominal")
		r, err := Fit(s, opt)
		if err != nil {
			var refusal *scan.RefusalError
			if !errors.As(err, &refusal) {
				t.Fatalf("not a refusal: %v", err)
			}
			return
		}
		r.work = nil
		r.Survey = nil
		hinge := &r.Map.HingeArc
		hinge[0], hinge[1] = 0, 0 // NaN by design where there is no aileron
		if where := notFinite(reflect.ValueOf(*r), "Result"); where != "" {
			t.Fatalf("%s is not finite", where)
		}
	})
}

func notFinite(v reflect.Value, name string) string {
	switch v.Kind() {
	case reflect.Float64:
		if math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0) {
			return name
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if w := notFinite(v.Field(i), name+"."+v.Type().Field(i).Name); w != "" {
				return w
			}
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			if w := notFinite(v.Index(i), name); w != "" {
				return w
			}
		}
	}
	return ""
}
