package fit_test

import (
	"testing"

	"tipwright/fit"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// BenchmarkFit fits the Marsh Wren's map. It has as many cells whatever the number of points, so one size tells all.
func BenchmarkFit(b *testing.B) {
	a, err := airfoil.Parse("NACA 23012")
	if err != nil {
		b.Fatal(err)
	}
	s, _, err := simulate.Scan(simulate.MarshWren(section.Left))
	if err != nil {
		b.Fatal(err)
	}
	v, err := section.Measure(s, section.Options{Airfoil: a, Chord: 1220, Hinge: 0.78, Side: section.Left})
	if err != nil {
		b.Fatal(err)
	}
	wishes := fit.Options{Band: 300, ActAbove: 0.5, SandLimit: 0.2, Density: 450, Laminate: 0.8, Kerf: 1.5, Wire: 0.5, TipLength: 260}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := fit.Fit(v, wishes); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCompare holds one wing to the other.
func BenchmarkCompare(b *testing.B) {
	a, err := airfoil.Parse("NACA 23012")
	if err != nil {
		b.Fatal(err)
	}
	var both [2]*fit.Result
	for i, side := range []section.Side{section.Left, section.Right} {
		s, _, err := simulate.Scan(simulate.MarshWren(side))
		if err != nil {
			b.Fatal(err)
		}
		v, err := section.Measure(s, section.Options{Airfoil: a, Chord: 1220, Hinge: 0.78, Side: side})
		if err != nil {
			b.Fatal(err)
		}
		if both[i], err = fit.Fit(v, fit.Options{Band: 300, ActAbove: 0.5, SandLimit: 0.2, Density: 450, TipLength: 260}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		fit.Compare(both[0], both[1], 1)
	}
}
