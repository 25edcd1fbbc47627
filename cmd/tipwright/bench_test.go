package main

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"testing"

	"tipwright/section/simulate"
)

// large tells whether the benchmarks that take minutes were asked for.
func large() bool { return os.Getenv("TIPWRIGHT_BENCH") == "large" }

// benchScans are the sizes of the whole job's benchmark, by triangles of an STL and points of a PLY.
var benchScans = []speedScan{
	{Name: "200k", Ending: ".stl", Mesh: true, Count: 200_000},
	{Name: "2M", Ending: ".stl", Mesh: true, Count: 2_000_000},
	{Name: "5M", Ending: ".stl", Mesh: true, Count: 5_000_000},
	{Name: "200k", Ending: ".ply", Count: 200_000},
	{Name: "1M", Ending: ".ply", Count: 1_000_000},
	{Name: "4M", Ending: ".ply", Count: 4_000_000},
	{Name: "10M", Ending: ".ply", Count: 10_000_000},
}

// BenchmarkRun does the whole job, from the scan's file to the delivery. The larger ones run with
// TIPWRIGHT_BENCH=large alone.
func BenchmarkRun(b *testing.B) {
	for _, c := range benchScans {
		b.Run(c.Ending[1:]+"/"+c.Name, func(b *testing.B) {
			if c.Count > 200_000 && !large() {
				b.Skip("takes long; TIPWRIGHT_BENCH=large runs it")
			}
			dir := b.TempDir()
			path, err := c.write(dir)
			if err != nil {
				b.Fatal(err)
			}
			writeSpeedSheet(b, dir)
			info, err := os.Stat(path)
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(info.Size())
			b.ReportAllocs()
			for b.Loop() {
				p := program{context.Background(), nil, io.Discard, os.Stderr, false}
				if status := p.run([]string{"run", "--out", filepath.Join(b.TempDir(), "out"), path}); status != delivered {
					b.Fatalf("exit status %d", status)
				}
			}
		})
	}
}

// writeSpeedSheet puts the Marsh Wren's wing sheet beside the scans.
func writeSpeedSheet(t testing.TB, dir string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, "wing.toml"), []byte(simulate.MarshWrenSheet()), 0o644); err != nil {
		t.Fatal(err)
	}
}
