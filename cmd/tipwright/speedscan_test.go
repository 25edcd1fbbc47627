package main

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/simulate"
)

// speedScan is one file to time: a scan of the Marsh Wren's left wing with more or fewer points.
type speedScan struct {
	Name     string // left-NAME.ENDING
	Ending   string
	Mesh     bool
	Count    int  // about how many triangles, or points of a cloud
	Shuffled bool // neighbours lie anywhere in the file; else they stand near each other, as scanners write them
}

func (c speedScan) file() string { return fmt.Sprintf("left-%s%s", c.Name, c.Ending) }

// write makes the file in dir unless it is there, and returns its path.
func (c speedScan) write(dir string) (string, error) {
	path := filepath.Join(dir, c.file())
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	w, scanner := simulate.MarshWren(section.Left)
	scanner.Mesh = c.Mesh
	scanner.Points = int(float64(c.Count) / 1.503) // the rest is clutter
	if c.Mesh {
		scanner.Points = int(float64(c.Count) / 2.9634) // two triangles a point, and clutter
	}
	s, _, err := simulate.Scan(w, scanner)
	if err != nil {
		return "", err
	}
	if !c.Shuffled {
		neighbourly(s)
	}
	f, err := os.Create(path + ".part")
	if err != nil {
		return "", err
	}
	defer f.Close()
	out := bufio.NewWriterSize(f, 1<<20)
	if err := c.writer()(out, s); err != nil {
		return "", err
	}
	if err := out.Flush(); err != nil {
		return "", err
	}
	return path, os.Rename(path+".part", path)
}

func (c speedScan) writer() func(io.Writer, *scan.Scan) error {
	switch {
	case c.Ending == ".stl" && c.Name == "text":
		return writeTextSTL
	case c.Ending == ".ply" && c.Name == "text":
		return writeTextPLY
	case c.Ending == ".stl":
		return scan.WriteSTL
	case c.Ending == ".ply":
		return scan.WritePLY
	case c.Ending == ".obj":
		return scan.WriteOBJ
	case c.Ending == ".csv":
		return writeCSV
	}
	return scan.WriteXYZ
}

// neighbourly brings a scan into the order of cells of 20 mm, which the simulated ones have not: there points and
// triangles come in any order.
func neighbourly(s *scan.Scan) {
	const cell = 0.02 // m
	type placed struct {
		cell uint64 // of x, then y, then z, 21 bits each
		from uint32
	}
	order := make([]placed, len(s.Points))
	for i, p := range s.Points {
		order[i].from = uint32(i)
		for _, v := range p {
			order[i].cell = order[i].cell<<21 | uint64(math.Floor(float64(v)/cell)+1<<20)
		}
	}
	slices.SortFunc(order, func(a, b placed) int { return cmp.Or(cmp.Compare(a.cell, b.cell), cmp.Compare(a.from, b.from)) })
	points, number := make([][3]float32, len(order)), make([]uint32, len(order))
	for i, p := range order {
		points[i], number[p.from] = s.Points[p.from], uint32(i)
	}
	s.Points = points
	for i, t := range s.Triangles {
		s.Triangles[i] = [3]uint32{number[t[0]], number[t[1]], number[t[2]]}
	}
	slices.SortFunc(s.Triangles, func(a, b [3]uint32) int { return slices.Compare(a[:], b[:]) })
}

func writeTextSTL(w io.Writer, s *scan.Scan) error {
	fmt.Fprintln(w, "solid wing")
	for _, t := range s.Triangles {
		fmt.Fprint(w, "facet normal 0.123456 0.234567 0.964251\nouter loop\n")
		for _, c := range t {
			p := s.Points[c]
			fmt.Fprintf(w, "vertex %g %g %g\n", p[0], p[1], p[2])
		}
		fmt.Fprint(w, "endloop\nendfacet\n")
	}
	_, err := fmt.Fprintln(w, "endsolid wing")
	return err
}

func writeTextPLY(w io.Writer, s *scan.Scan) error {
	fmt.Fprintf(w, "ply\nformat ascii 1.0\nelement vertex %d\nproperty float x\nproperty float y\nproperty float z\n", len(s.Points))
	fmt.Fprintf(w, "element face %d\nproperty list uchar int vertex_indices\nend_header\n", len(s.Triangles))
	for _, p := range s.Points {
		fmt.Fprintf(w, "%g %g %g\n", p[0], p[1], p[2])
	}
	for _, t := range s.Triangles {
		fmt.Fprintf(w, "3 %d %d %d\n", t[0], t[1], t[2])
	}
	return nil
}

func writeCSV(w io.Writer, s *scan.Scan) error {
	for _, p := range s.Points {
		fmt.Fprintf(w, "%.6f,%.6f,%.6f\n", p[0], p[1], p[2])
	}
	return nil
}
