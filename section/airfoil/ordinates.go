package airfoil

import (
	"bufio"
	"fmt"
	"io"
	"math"
)

// stations are those of the published tables, in per cent of chord (Abbott & von Doenhoff 1959, appendix III).
func stations() []float64 {
	return []float64{0, 0.5, 1.25, 2.5, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100}
}

// Ordinates prints a section as a table for the drawing board: its figures, then the ordinates of both surfaces
// at the stations of the published tables, in per cent of the chord.
func Ordinates(w io.Writer, a *Airfoil) error {
	b := bufio.NewWriter(w)
	thickness, thicknessAt := a.Thickness()
	camber, camberAt := a.Camber()
	factor, _ := a.Tape()
	fmt.Fprintf(b, "%s\n\n", a.Name)
	figure := func(name, format string, args ...any) {
		fmt.Fprintf(b, "%-22s "+format+"\n", append([]any{name}, args...)...)
	}
	figure("thickness", "%8.3f %% of chord at %.1f %%", 100*thickness, 100*thicknessAt)
	if a.Symmetric() {
		figure("camber", "%8s", "none")
	} else {
		figure("camber", "%8.3f %% of chord at %.1f %%", 100*camber, 100*camberAt)
	}
	figure("nose radius", "%8.3f %% of chord", 100*a.NoseRadius())
	nose := a.curve.point(a.nose)
	figure("foremost point", "%8.3f %% of chord, height %.3f %%", unsigned(100*nose.X), unsigned(100*nose.Y))
	figure("trailing edge", "%8.3f %% of chord thick", 100*a.TailThickness())
	figure("taped chord", "%8.5f of the reference chord, %s", factor, a.tapeTurn())
	for _, m := range a.messages {
		fmt.Fprintf(b, "%s: %s\n", m.Level, m.Text)
	}
	fmt.Fprintf(b, "\n%8s %9s %9s   per cent of chord\n", "x", "upper", "lower")
	for _, x := range stations() {
		fmt.Fprintf(b, "%8.2f %9.3f %9.3f\n", x, unsigned(100*a.Upper(x/100)), unsigned(100*a.Lower(x/100)))
	}
	return b.Flush()
}

// tapeTurn says how the tape lies to the chord line.
func (a *Airfoil) tapeTurn() string {
	_, angle := a.Tape()
	turn := fmt.Sprintf("%.3f deg to it, its nose end ", math.Abs(angle)*180/math.Pi)
	switch {
	case angle < 0:
		return turn + "above"
	case angle > 0:
		return turn + "below"
	}
	return "along it"
}

// unsigned returns v without the sign of a value that prints as zero.
func unsigned(v float64) float64 {
	if math.Abs(v) < 0.0005 {
		return 0
	}
	return v
}
