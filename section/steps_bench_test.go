package section

import (
	"testing"

	"tipwright/scan"
)

// StepBench takes [Measure] apart for the benchmarks, which stand outside the package since the simulated scans
// come from outside.
type StepBench struct {
	B    *testing.B
	Scan *scan.Scan
	Opt  Options
}

// Pose times the way from the points to the wing's place, roughly: thinning, normals, search and choice.
func (s StepBench) Pose() {
	for s.B.Loop() {
		s.find()
	}
}

// Refine times the fits of the loft to every point, the ends and the tail.
func (s StepBench) Refine() {
	for s.B.Loop() {
		s.B.StopTimer()
		w := s.find()
		s.B.StartTimer()
		if err := w.refine(); err != nil {
			s.B.Fatal(err)
		}
	}
}

// Departures times the map and what is told from it.
func (s StepBench) Departures() {
	for s.B.Loop() {
		s.B.StopTimer()
		w := s.find()
		if err := w.refine(); err != nil {
			s.B.Fatal(err)
		}
		if err := w.settleScale(); err != nil {
			s.B.Fatal(err)
		}
		s.B.StartTimer()
		if _, err := w.survey(); err != nil {
			s.B.Fatal(err)
		}
	}
}

func (s StepBench) find() *work {
	opt := s.Opt
	w, err := find(s.Scan, &opt)
	if err != nil {
		s.B.Fatal(err)
	}
	return w
}
