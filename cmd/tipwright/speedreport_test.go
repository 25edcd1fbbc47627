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
	Once   spent
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
func (s steps) measuring() (sum spent) {
	for _, step := range []string{"read", "measure", "fit"} {
		sum.Processor += s.Took[step].Processor
		sum.Clock += s.Took[step].Clock
	}
	return sum
}

func (t timed) measuring() spent { return t.Steps.measuring() }

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
  nearby; a fifth joins the others, in a table far larger than the processor's cache; a quarter is the system's clearing of
  new memory, a tenth its copying of bytes. The table takes one processor at a time, all else is shared; in large blocks
  little waits for it. A table half as large, with hashes and numbers instead of points in it, takes as long where
  neighbours stand near each other, and half as long again where they do not: a shuffled file has six look-ups a point
  instead of little more than one. Corners that are first divided among many tables, each of which the cache holds, take
  longer in either case, and so does a field of bits that tells which of them can repeat at all.
* Reading a binary PLY mesh: a fifth takes the triangles from the bytes, a fifth leaves out those without area, a sixth
  looks for corners at one place, which a field of bits tells that hardly any can be; a quarter is the system's.
* Reading a binary PLY cloud: half is the system's, a quarter the look at every number. Where a row has x, y and z and
  nothing else, its bytes are read to where the point stays.
* Reading text: a third to a half is the numbers themselves; one processor does it all.
* Measuring a cloud of a million points: a sixth maps departures, twice for the polish and once from every point; an eighth
  gathers the points into voxels; the search, the look at which points are near, the polish and the tail take about a tenth
  each. The search takes the same whatever the size, and so do the ends, the tail and the polish from two million points
  near the wing on. What grows is the gathering, the test whether a point is near, and one comparison of each near point
  with the loft.
* Fit and delivery see the map alone, which has as many cells for a large scan as for a small one. The fit takes a quarter
  of what measuring a million points does.

Long lists are asked for in large pages of memory where the system has them (Linux: transparent huge pages, on advice),
which spares up to a fifth of reading a binary file.

Memory beside the scan itself, 12 bytes a point and 12 a triangle, is a bit a point and four bytes for each point near
the wing, up to two million points on which the loft is settled, and room that the collector keeps.

## Progress on a terminal

Costs nothing that can be measured. Whole runs with the bar on a pseudo terminal and, in turn, with standard error
thrown away, processor seconds of the program and its worker, other work beside it: left-1M.ply, ten of each, the least
3.28 against 3.29, the middle one 3.42 against 3.44; left-2M.stl, twenty of each, the least 3.98 against 3.97. Since then
the bar is drawn once a second as well, some 120 bytes each.
`

// write writes SPEED.md.
func (r *speedReport) write(to io.Writer) error {
	w := bufio.NewWriter(to)
	w.WriteString(speedHead)
	fmt.Fprintf(w, "This run: %s/%s, %d processors, %s. Seconds are processor seconds, user and system together, of all\nprocessors; \"clock\" is what the clock on the wall said.\n\n",
		runtime.GOOS, runtime.GOARCH, runtime.NumCPU(), runtime.Version())
	r.reading(w)
	r.text(w)
	r.steps(w)
	r.whole(w)
	r.growth(w)
	r.others(w)
	w.WriteString(speedTail)
	r.missed(w)
	return w.Flush()
}

// missed lists what misses its aim, by the figures above.
func (r *speedReport) missed(w io.Writer) {
	fmt.Fprint(w, "\n## What is not reached\n\nBy the tables above, with the aim behind each:\n\n")
	none := true
	over := func(file, what string, value, aim float64) {
		if value > aim {
			none = false
			fmt.Fprintf(w, "* %s: %s, %.2f (%.2f)\n", file, what, value, aim)
		}
	}
	for _, t := range r.Binary {
		read := t.Read.Took["read"]
		over(t.file(), "reading, times the bytes", read.Processor/t.Raw.Processor, 6)
		if t.Numpy.Clock > 0 && !t.Shuffled {
			over(t.file(), "reading, times numpy's, by the clock", read.Clock/t.Numpy.Clock, 3)
		}
		over(t.file(), "the whole job, s more than read to fit", t.Run.Processor-t.measuring().Processor, 1)
		over(t.file(), "memory, MB", float64(t.Peak)/1e6, t.allowed())
	}
	over("tipwright once", "s for all up to date", r.Once.Clock, 1)
	for _, t := range r.Text {
		over(t.file(), "reading text, s for 150 MB", 150e6/float64(t.Bytes)*t.Read.Took["read"].Processor, 1)
	}
	for _, c := range []struct {
		file string
		aim  float64
	}{{"left-2M.stl", 1. / 6}, {"left-1M.ply", 1. / 6}, {"left-4M.ply", 1. / 4}} {
		if t, ok := r.find(c.file); ok {
			over(c.file, "read to fit in the script's time, with the start of Python", t.measuring().Processor/t.Script.Whole.Processor, c.aim)
			over(c.file, "the same by the clock", t.measuring().Clock/t.Script.Whole.Clock, c.aim)
		}
	}
	if none {
		fmt.Fprintln(w, "* Nothing.")
	}
	fmt.Fprint(w, "\nThe script thins to 150,000 points. numpy neither checks the numbers nor joins corners.\n")
}

// allowed returns how much memory the whole job may take, MB.
func (t timed) allowed() float64 { return math.Min(1000, 1.5*float64(t.Bytes)/1e6+100) }

const readingHead = `## Reading binary files

Against ` + "`cat FILE >/dev/null`" + `, against reading the bytes into memory and nothing else, and against numpy loading the same
numbers into a list, each the quickest of five with the file at hand. numpy neither checks the numbers nor joins corners.
Its fromfile alone leaves an STL's corners between directions and odd bytes, where nothing can be done with them yet; for
points it is all there is to do. The SHA-256 of the bytes, by which a delivery knows its scan, is made before, when the scan
is taken in, and once more with the reading if the file had not been at rest for a minute by then: the last column but one
adds it. Aims: 6 times the bytes, by the processors; 3 times numpy, by the clock on two processors.

| file | MB | size | cat, s | bytes, s | read, s | clock, s | times cat | times the bytes | the same by the clock | times numpy, by the clock | its fromfile alone | by the processors | with the sum, by the clock | peak, times the file |
|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|
`

const readingTail = `
In the files that are called shuffled neighbours lie anywhere in the file, which no scanner writes; in the others they
stand near each other. A shuffled STL has six corners a point that are looked for all over memory, and is not held to
numpy, which joins none.

`

func (r *speedReport) reading(w io.Writer) {
	fmt.Fprint(w, readingHead)
	for _, t := range r.Binary {
		read := t.Read.Took["read"]
		fmt.Fprintf(w, "| %s | %.0f | %s | %.3f | %.3f | %.3f | %.3f | %.1f | %.1f | %.1f | %s | %s | %s | %s | %.2f |\n", t.file(), float64(t.Bytes)/1e6, t.size(), t.Cat.Processor, t.Raw.Processor, read.Processor, read.Clock,
			read.Processor/t.Cat.Processor, read.Processor/t.Raw.Processor, read.Clock/t.Raw.Clock,
			ratio(read.Clock, t.Numpy.Clock), ratio(read.Clock, t.Alone.Clock), ratio(read.Processor, t.Numpy.Processor), ratio(read.Clock+t.Sum.Clock, t.Numpy.Clock), float64(t.Read.Peak)/float64(t.Bytes))
	}
	fmt.Fprint(w, readingTail)
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
			float64(t.Peak)/1e6, float64(t.Peak)/float64(t.Bytes), t.allowed())
	}
	start := slices.MinFunc(r.Start, func(a, b spent) int { return int(1e6 * (a.Clock - b.Clock)) })
	fmt.Fprintf(w, "\n`tipwright version`: %.0f ms by the clock, the quickest of %d. Aim: 20 ms.\n\n", 1000*start.Clock, len(r.Start))
	fmt.Fprintf(w, "`tipwright once` in a shop of %d aircraft with two scans each, all up to date: %.2f s by the clock, the quickest of five.\nIt reads no scan. Aim: 1 s.\n\n", onceAircraft, r.Once.Clock)
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
		"`testdata/speed/script.py` does the same job in rough with numpy and scipy: thinned to 150,000 points\nunless it is told not to. It shows what such a script takes and is no reference for the figures. Each and ours run three\ntimes in turn, and the quickest of each counts: the other with the start of Python and its libraries, and without it.\nVTK's cut spends most of its time in the system, getting memory, in one thread as in two: how much depends on the machine.\n\n",
		"| file | read to fit, s | clock, s | other, s | clock, s | ours in other's | by the clock | its start left out | by the clock | aim |\n|---|---|---|---|---|---|---|---|---|---|\n")
	row := func(file, name string, of func(t timed) other, aim string) {
		if t, ok := r.find(file); ok {
			own, o := t.measuring(), of(t)
			fmt.Fprintf(w, "| %s | %.2f | %.2f | %s: %.2f | %.2f | %.2f | %.2f | %.2f | %.2f | %s |\n", file, own.Processor, own.Clock, name, o.Whole.Processor, o.Whole.Clock,
				own.Processor/o.Whole.Processor, own.Clock/o.Whole.Clock, own.Processor/o.Own.Processor, own.Clock/o.Own.Clock, aim)
		}
	}
	row("left-2M.stl", "VTK", func(t timed) other { return t.Cut }, "2")
	row("left-2M-shuffled.stl", "VTK", func(t timed) other { return t.Cut }, "2")
	row("left-2M.stl", "script", func(t timed) other { return t.Script }, "1/6 (0.17)")
	row("left-1M.ply", "script", func(t timed) other { return t.Script }, "1/6 (0.17)")
	row("left-4M.ply", "script", func(t timed) other { return t.Script }, "1/4 (0.25)")
}
