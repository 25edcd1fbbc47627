package section_test

import (
	"fmt"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"testing"
	"time"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// benchScan makes a scan of the Marsh Wren's left wing with about so many points, or triangles of a mesh.
func benchScan(b *testing.B, mesh bool, count int) *scan.Scan {
	b.Helper()
	if count > 200_000 && os.Getenv("TIPWRIGHT_BENCH") != "large" {
		b.Skip("takes long; TIPWRIGHT_BENCH=large runs it")
	}
	w, scanner := simulate.MarshWren(section.Left)
	scanner.Mesh, scanner.Points = mesh, int(float64(count)/1.503) // the rest is clutter
	if mesh {
		scanner.Points = int(float64(count) / 2.9634) // two triangles a point, and clutter
	}
	s, _, err := simulate.Scan(w, scanner)
	if err != nil {
		b.Fatal(err)
	}
	return s
}

// benchOptions is what the Marsh Wren's wing sheet says.
func benchOptions(b *testing.B) section.Options {
	b.Helper()
	a, err := airfoil.Parse("NACA 23012")
	if err != nil {
		b.Fatal(err)
	}
	return section.Options{Airfoil: a, Chord: 1220, Hinge: 0.78, Side: section.Left}
}

// benchKinds are the kinds and sizes of scan that are measured, by triangles and by points.
var benchKinds = []struct {
	name   string
	mesh   bool
	counts []int
}{
	{"mesh", true, []int{200_000, 2_000_000, 5_000_000}},
	{"cloud", false, []int{200_000, 1_000_000, 4_000_000, 10_000_000}},
}

// BenchmarkMeasure measures clouds and meshes: pose, departures and all between.
func BenchmarkMeasure(b *testing.B) {
	for _, kind := range benchKinds {
		for _, count := range kind.counts {
			b.Run(fmt.Sprintf("%s/%dk", kind.name, count/1000), func(b *testing.B) {
				s, opt := benchScan(b, kind.mesh, count), benchOptions(b)
				b.ReportAllocs()
				peak := watchLive()
				for b.Loop() {
					if _, err := section.Measure(s, opt); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(peak())/float64(max(len(s.Points), len(s.Triangles))), "live-B/item")
			})
		}
	}
}

// watchLive looks at the memory in use until peak is called, which returns the most that was seen, the scan included.
func watchLive() (peak func() uint64) {
	stop, most := make(chan bool), make(chan uint64)
	before := debug.SetGCPercent(10) // so that collections come often enough to be seen
	go func() {
		live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
		var seen uint64
		for tick := time.Tick(5 * time.Millisecond); ; {
			select {
			case <-tick:
				metrics.Read(live)
				seen = max(seen, live[0].Value.Uint64())
			case <-stop:
				most <- seen
				return
			}
		}
	}()
	return func() uint64 {
		debug.SetGCPercent(before)
		close(stop)
		return <-most
	}
}

// BenchmarkMeasureUnknown measures a wing whose airfoil and chord nobody told.
func BenchmarkMeasureUnknown(b *testing.B) {
	s := benchScan(b, false, 200_000)
	for b.Loop() {
		if _, err := section.Measure(s, section.Options{Side: section.Left, Unit: scan.Metre}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPose finds the wing among the points, roughly.
func BenchmarkPose(b *testing.B) { benchSteps(b, section.StepBench.Pose) }

// BenchmarkRefine fits the loft to every point, the ends and the tail's edge.
func BenchmarkRefine(b *testing.B) { benchSteps(b, section.StepBench.Refine) }

// BenchmarkDepartures maps the departures and tells what can be told from them.
func BenchmarkDepartures(b *testing.B) { benchSteps(b, section.StepBench.Departures) }

func benchSteps(b *testing.B, step func(section.StepBench)) {
	for _, kind := range benchKinds {
		for _, count := range kind.counts {
			b.Run(fmt.Sprintf("%s/%dk", kind.name, count/1000), func(b *testing.B) {
				step(section.StepBench{B: b, Scan: benchScan(b, kind.mesh, count), Opt: benchOptions(b)})
			})
		}
	}
}
