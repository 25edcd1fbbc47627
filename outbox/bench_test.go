package outbox

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"tipwright/fit"
	"tipwright/section"
)

// benchDeliveries are the sample with the gauges of a real delivery, as a dense scan shows it and as a sparse one
// does, on whose map every fourth cell is empty.
func benchDeliveries(b *testing.B) map[string]Delivery {
	b.Helper()
	out := map[string]Delivery{}
	for _, name := range []string{"dense", "sparse"} {
		d := sampleDelivery(b, section.Left)
		for _, st := range []float64{0, 100, 200, 300} {
			d.Result.Gauges = append(d.Result.Gauges, fit.Template{Name: fmt.Sprintf("gauge-%.0f", st), Station: st, Outline: d.Result.Target, U: 0.2})
		}
		if name == "sparse" {
			rng := rand.New(rand.NewPCG(7, 11))
			cells := d.Result.Survey.Map.Cells
			for k := range cells {
				if rng.IntN(4) == 0 {
					cells[k] = section.Cell{}
					if k < len(d.Result.Map.Seen) {
						d.Result.Map.Seen[k] = false
					}
				}
			}
		}
		out[name] = d
	}
	return out
}

// eachDelivery runs a benchmark for the dense and the sparse delivery.
func eachDelivery(b *testing.B, do func(b *testing.B, d *Delivery) error) {
	deliveries := benchDeliveries(b)
	for _, name := range []string{"dense", "sparse"} {
		d := deliveries[name]
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := do(b, &d); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkDeliver is everything after the fit: all drawings, pictures, tables, the report, written and synced.
func BenchmarkDeliver(b *testing.B) {
	dir, n := b.TempDir(), 0
	eachDelivery(b, func(b *testing.B, d *Delivery) error {
		n++
		to := filepath.Join(dir, fmt.Sprint(n))
		if err := os.Mkdir(to, 0o755); err != nil {
			return err
		}
		defer os.RemoveAll(to)
		return Deliver(to, *d)
	})
}

// BenchmarkFiles is a delivery without the disk.
func BenchmarkFiles(b *testing.B) {
	eachDelivery(b, func(b *testing.B, d *Delivery) error {
		files, err := d.files()
		size := 0
		for _, f := range files {
			size += len(f.Data)
		}
		b.ReportMetric(float64(size)/1e6, "MB/delivery")
		return err
	})
}

// BenchmarkDrawings makes the drawings for the workshop, BenchmarkTemplates writes them as PDF, SVG and DXF too.
func BenchmarkDrawings(b *testing.B) {
	eachDelivery(b, func(_ *testing.B, d *Delivery) error {
		_, err := shopDrawings(d.Result, d.Sheet, d.Identity)
		return err
	})
}

func BenchmarkTemplates(b *testing.B) {
	eachDelivery(b, func(_ *testing.B, d *Delivery) error {
		_, err := templateFiles(d.Result, d.Sheet, d.Identity)
		return err
	})
}

func BenchmarkWrapSheets(b *testing.B) {
	eachDelivery(b, func(_ *testing.B, d *Delivery) error {
		_, err := drawnFiles(nil, wrapDrawings(d.Result, d.Sheet, d.Identity), d.Sheet)
		return err
	})
}

func BenchmarkFillerMap(b *testing.B) {
	eachDelivery(b, func(_ *testing.B, d *Delivery) error {
		_, _, err := d.mapFiles()
		return err
	})
}

func BenchmarkPanel(b *testing.B) {
	eachDelivery(b, func(_ *testing.B, d *Delivery) error {
		_, _, err := d.solid()
		return err
	})
}

func BenchmarkTables(b *testing.B) {
	eachDelivery(b, func(_ *testing.B, d *Delivery) error {
		if len(sectionCSV(d)) == 0 || len(departuresCSV(d)) == 0 {
			return os.ErrInvalid
		}
		return nil
	})
}

func BenchmarkRecord(b *testing.B) {
	eachDelivery(b, func(_ *testing.B, d *Delivery) error {
		_, err := newRecord(d, nil).encode()
		return err
	})
}

// BenchmarkReport renders the page, its pictures included.
func BenchmarkReport(b *testing.B) {
	eachDelivery(b, func(_ *testing.B, d *Delivery) error {
		record := newRecord(d, nil)
		view, _, err := d.solid()
		if err != nil {
			return err
		}
		_, err = sidePage(d, record, newFillerMap(d.Result, d.Identity.Side), view, []File{{Name: ReportName}, {Name: ResultName}})
		return err
	})
}

func BenchmarkPair(b *testing.B) {
	d := samplePair(b)
	dir, n := b.TempDir(), 0
	b.ReportAllocs()
	for b.Loop() {
		n++
		to := filepath.Join(dir, fmt.Sprint(n))
		if err := os.Mkdir(to, 0o755); err != nil {
			b.Fatal(err)
		}
		if err := Pair(to, d); err != nil {
			b.Fatal(err)
		}
		if err := os.RemoveAll(to); err != nil {
			b.Fatal(err)
		}
	}
}
