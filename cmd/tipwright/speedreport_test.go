//go:build unix

package main

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
)

// speedReport is what one run came to.
type speedReport struct {
	Start  []spent
	Binary []timed
	Text   []timed
}

// find returns a binary scan by its file's name; ok is false if it was left out.
func (r *speedReport) find(file string) (timed, bool) {
	i := slices.IndexFunc(r.Binary, func(t timed) bool { return t.file() == file })
	if i < 0 {
		return timed{}, false
	}
	return r.Binary[i], true
}

// measuring returns what it takes from the file to the fit.
func (t timed) measuring() (sum spent) {
	for _, step := range []string{"read", "measure", "fit"} {
		sum.Processor += t.Steps.Took[step].Processor
		sum.Clock += t.Steps.Took[step].Clock
	}
	return sum
}

func (t timed) size() string {
	if t.Mesh {
		return fmt.Sprintf("%.2f M triangles", float64(t.Read.Triangles)/1e6)
	}
	return fmt.Sprintf("%.2f M points", float64(t.Read.Points)/1e6)
}

const speedHead = `# How fast it is

Figures of one run on one machine; compare ratios, not seconds. Made again, whole, by

    go test ./cmd/tipwright -count=1 -timeout 60m -run '^TestSpeed$' -speed

which makes the scans in a temporary folder (the Marsh Wren's left wing, simulated, seeded) and needs Debian's
python3-numpy, python3-scipy and python3-vtk9 for the comparisons. Single steps have benchmarks:
` + "`go test -run '^$' -bench . ./scan ./section ./fit ./outbox ./cmd/tipwright`" + `; the large scans are left out unless
TIPWRIGHT_BENCH=large is set.

`

const speedTail = `
## Where the time goes

By the profile of each step:

* Reading binary STL: a quarter takes the file's bytes apart, looks at every number and joins corners that repeat
  nearby; a fifth joins the others, in a table far larger than the processor's cache; a fifth is the SHA-256 by which a
  delivery knows its scan; a fifth is the system's, which copies the bytes and clears new memory. All but the table and
  the sum is shared among the processors. A shuffled file has six look-ups a point instead of little more than one,
  which brings it near six times the bytes.
* Reading a binary PLY mesh: a fifth is the sum, a fifth the system's; an eighth each takes the triangles from the bytes,
  leaves out those without area, and looks for corners at one place, which a field of bits tells that hardly any can be.
* Reading a binary PLY cloud: two fifths are the sum, two fifths the system's, a tenth the look at every number. Where a
  row has x, y and z and nothing else, its bytes are read to where the point stays.
* Reading text: a third to a half is the numbers themselves; one processor does it all.
* Measuring a cloud of a million points: a fifth gathers the points into voxels, a quarter maps departures, a tenth each
  the polish and the tail; the search takes a seventh whatever the size, and so do the ends, the tail and the polish from
  two million points near the wing on. What grows is the gathering, the test whether a point is near, and one comparison
  of each near point with the loft.
* Fit and delivery see the map alone, which has as many cells for a large scan as for a small one.

Long lists are asked for in large pages of memory where the system has them (Linux: transparent huge pages, on advice),
which spares up to a fifth of reading a binary file.

Memory beside the scan itself, 12 bytes a point and 12 a triangle, is a bit a point and four bytes for each point near
the wing, up to two million points on which the loft is settled, and room that the collector keeps.

## Progress on a terminal

Costs nothing that can be measured. Whole runs with the bar on a pseudo terminal and, in turn, with standard error
thrown away, processor seconds of the program and its worker, other work beside it: left-1M.ply, ten of each, the least
3.28 against 3.29, the middle one 3.42 against 3.44; left-2M.stl, twenty of each, the least 3.98 against 3.97. Since then
the bar is drawn once a second as well, some 120 bytes each.

## What is not reached

As it stood when this was last written by hand; the tables above have the figures:

* The sixth, or fourth, of a numpy and scipy script's time: we take three tenths to four tenths of it. The script thins to
  150,000 points.
* Three times numpy's fromfile, for STL, and for clouds by the clock: that neither sums nor checks the bytes, nor joins
  corners. The sum alone takes twice as long as all of that.

VTK's cut spends most of its time in the system here. Its own part is about 1.1 s, and twice that is reached as well.
`

// write writes SPEED.md.
func (r *speedReport) write(to io.Writer) error {
	w := bufio.NewWriter(to)
	w.WriteString(speedHead)
	fmt.Fprintf(w, "This run: %s/%s, %d processors, %s. Seconds are processor seconds, user and system together, of all\nprocessors; \"clock\" is what the clock on the wall said while other work ran beside it.\n\n",
		runtime.GOOS, runtime.GOARCH, runtime.NumCPU(), runtime.Version())
	r.reading(w)
	r.text(w)
	r.steps(w)
	r.whole(w)
	r.growth(w)
	r.others(w)
	w.WriteString(speedTail)
	return w.Flush()
}

func (r *speedReport) reading(w io.Writer) {
	fmt.Fprint(w, "## Reading binary files\n\nAgainst `cat FILE >/dev/null`, against reading the bytes into memory and nothing else, each the quickest of five, and\nagainst numpy's fromfile of the same numbers, the quickest of three, which neither sums, checks nor joins anything.\nAims: 6 times the bytes, 3 times numpy.\n\n",
		"| file | MB | size | cat, s | bytes, s | read, s | times cat | times the bytes | the same by the clock | times numpy | by the clock | peak, times the file |\n|---|---|---|---|---|---|---|---|---|---|---|---|\n")
	for _, t := range r.Binary {
		read := t.Read.Took["read"]
		fmt.Fprintf(w, "| %s | %.0f | %s | %.3f | %.3f | %.3f | %.1f | %.1f | %.1f | %s | %s | %.2f |\n", t.file(), float64(t.Bytes)/1e6, t.size(), t.Cat.Processor, t.Raw.Processor, read.Processor,
			read.Processor/t.Cat.Processor, read.Processor/t.Raw.Processor, read.Clock/t.Raw.Clock, ratio(read.Processor, t.Numpy.Processor), ratio(read.Clock, t.Numpy.Clock),
			float64(t.Read.Peak)/float64(t.Bytes))
	}
	fmt.Fprint(w, "\nIn the files that are called shuffled neighbours lie anywhere in the file, which no scanner writes; in the others they\nstand near each other.\n\n")
}

// ratio renders a/b, and that there is none where b was not timed.
func ratio(a, b float64) string {
	if b == 0 {
		return "-"
	}
	return fmt.Sprintf("%.1f", a/b)
}

func (r *speedReport) text(w io.Writer) {
	fmt.Fprint(w, "## Reading text\n\nOn one processor; numpy's loadtxt where it can read the file. Aims: 150 MB/s, 3 times numpy.\n\n",
		"| file | MB | size | read, s | MB/s | times numpy |\n|---|---|---|---|---|---|\n")
	for _, t := range r.Text {
		read := t.Read.Took["read"]
		fmt.Fprintf(w, "| %s | %.0f | %s | %.3f | %.0f | %s |\n", t.file(), float64(t.Bytes)/1e6, t.size(), read.Processor, float64(t.Bytes)/1e6/read.Processor, ratio(read.Processor, t.Numpy.Processor))
	}
	fmt.Fprintln(w)
}

func (r *speedReport) steps(w io.Writer) {
	fmt.Fprint(w, "## Each step\n\nOnce each, one after another in one process.\n\n",
		"| file | read, s | measure, s | fit, s | delivery, s | read to fit, s | times the bytes |\n|---|---|---|---|---|---|---|\n")
	for _, t := range r.Binary {
		k := t.Steps.Took
		fmt.Fprintf(w, "| %s | %.2f | %.2f | %.2f | %.2f | %.2f | %.0f |\n", t.file(), k["read"].Processor, k["measure"].Processor, k["fit"].Processor,
			k["delivery"].Processor, t.measuring().Processor, t.measuring().Processor/t.Raw.Processor)
	}
	fmt.Fprintln(w)
}

func (r *speedReport) whole(w io.Writer) {
	fmt.Fprint(w, "## The whole job\n\n`tipwright run` as a process with its worker, drawings, report and pictures included. Aims: at most 1 s more than read\nto fit; memory at most 1.5 times the file and 100 MB, and never above 1 GB.\n\n",
		"| file | whole, s | clock, s | more than read to fit, s | peak, MB | times the file | allowed, MB |\n|---|---|---|---|---|---|---|\n")
	for _, t := range r.Binary {
		fmt.Fprintf(w, "| %s | %.2f | %.2f | %.2f | %.0f | %.1f | %.0f |\n", t.file(), t.Run.Processor, t.Run.Clock, t.Run.Processor-t.measuring().Processor,
			float64(t.Peak)/1e6, float64(t.Peak)/float64(t.Bytes), math.Min(1000, 1.5*float64(t.Bytes)/1e6+100))
	}
	start := slices.MinFunc(r.Start, func(a, b spent) int { return int(1e6 * (a.Clock - b.Clock)) })
	fmt.Fprintf(w, "\n`tipwright version`: %.0f ms by the clock, the quickest of %d. Aim: 20 ms.\n\n", 1000*start.Clock, len(r.Start))
}

// growth tells the exponents of the sizes from the smallest to the largest.
func (r *speedReport) growth(w io.Writer) {
	fmt.Fprint(w, "## How it grows\n\nExponent of a straight line through the logarithms, over the sizes above that are not shuffled; 1 is linear. Aim: at most\n1.05. Memory has a part that does not grow, which makes its exponent small.\n\n",
		"| scans | read | measure | whole | memory of the whole |\n|---|---|---|---|---|\n")
	for _, kind := range []struct{ name, ending string }{{"STL meshes, 0.2 to 5 million triangles", ".stl"}, {"PLY clouds, 0.2 to 10 million points", ".ply"}} {
		of := func(value func(t timed) float64) string {
			var x, y []float64
			for _, t := range r.Binary {
				if t.Ending == kind.ending && t.Mesh == (kind.ending == ".stl") && !t.Shuffled {
					x, y = append(x, math.Log(float64(t.Count))), append(y, math.Log(value(t)))
				}
			}
			return fmt.Sprintf("%.2f", slope(x, y))
		}
		fmt.Fprintf(w, "| %s | %s | %s | %s | %s |\n", kind.name,
			of(func(t timed) float64 { return t.Read.Took["read"].Processor }),
			of(func(t timed) float64 { return t.Steps.Took["measure"].Processor }),
			of(func(t timed) float64 { return t.Run.Processor }),
			of(func(t timed) float64 { return float64(t.Peak) }))
	}
	fmt.Fprintln(w)
}

// slope fits a straight line by least squares.
func slope(x, y []float64) float64 {
	var n, sx, sy, sxx, sxy float64
	for i := range x {
		n, sx, sy, sxx, sxy = n+1, sx+x[i], sy+y[i], sxx+x[i]*x[i], sxy+x[i]*y[i]
	}
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}

func (r *speedReport) others(w io.Writer) {
	fmt.Fprint(w, "## Against general-purpose libraries\n\n`testdata/speed/cut.py` has VTK read the mesh with corners left apart and cut it by one plane in two threads.\n",
		"`testdata/speed/script.py` does the same job in rough with numpy and scipy: thinned to 150,000 points\nunless it is told not to. It shows what such a script takes and is no reference for the figures. Both with the start of\nPython. VTK's cut spends most of its time in the system, getting memory, in one thread as in two: how much depends on\nthe machine.\n\n",
		"| file | read to fit, s | other, s | ours in other's | by the clock | aim |\n|---|---|---|---|---|---|\n")
	row := func(file, name string, other func(t timed) spent, aim string) {
		if t, ok := r.find(file); ok {
			own, o := t.measuring(), other(t)
			fmt.Fprintf(w, "| %s | %.2f | %s: %.2f | %.2f | %.2f | %s |\n", file, own.Processor, name, o.Processor, own.Processor/o.Processor, own.Clock/o.Clock, aim)
		}
	}
	row("left-2M.stl", "VTK", func(t timed) spent { return t.Cut }, "2")
	row("left-2M-shuffled.stl", "VTK", func(t timed) spent { return t.Cut }, "2")
	row("left-2M.stl", "script", func(t timed) spent { return t.Script }, "1/6")
	row("left-1M.ply", "script", func(t timed) spent { return t.Script }, "1/6")
	row("left-4M.ply", "script", func(t timed) spent { return t.Script }, "1/4")
}
