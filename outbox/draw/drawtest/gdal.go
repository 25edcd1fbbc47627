package drawtest

import (
	"encoding/json"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// ReadDXFByGDAL reads the lines and circles of a DXF by GDAL's driver, which turns them all into polylines: closed
// ones come back with Closed set, and those of many points round a middle as circles.
func ReadDXFByGDAL(t testing.TB, data []byte) (pic Picture) {
	t.Helper()
	program := Tool(t, "ogr2ogr", "gdal-bin")
	var got struct {
		Features []struct {
			Properties struct{ Layer string }
			Geometry   struct {
				Type        string
				Coordinates json.RawMessage
			}
		}
	}
	out := run(t, program, "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=6", "/vsistdout/", save(t, "drawing.dxf", data))
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	for _, f := range got.Features {
		if f.Geometry.Type != "LineString" {
			continue
		}
		var points [][]float64
		if err := json.Unmarshal(f.Geometry.Coordinates, &points); err != nil {
			t.Fatal(err)
		}
		p := Path{Layer: f.Properties.Layer}
		for _, q := range points {
			p.Points = append(p.Points, r2.Vec{X: q[0], Y: q[1]})
		}
		if last := len(p.Points) - 1; last > 2 && r2.Norm(r2.Sub(p.Points[0], p.Points[last])) < 1e-5 {
			p.Closed, p.Points = true, p.Points[:last]
		}
		if c, ok := circleOf(p); ok {
			pic.Circles = append(pic.Circles, c)
			continue
		}
		pic.Paths = append(pic.Paths, p)
	}
	return pic
}

// circleOf returns the circle that a closed polyline was made of.
func circleOf(p Path) (c Circle, ok bool) {
	if !p.Closed || len(p.Points) < 16 {
		return c, false
	}
	for _, q := range p.Points {
		c.Centre = r2.Add(c.Centre, r2.Scale(1/float64(len(p.Points)), q))
	}
	c.Layer, c.R = p.Layer, r2.Norm(r2.Sub(p.Points[0], c.Centre))
	for _, q := range p.Points {
		if math.Abs(r2.Norm(r2.Sub(q, c.Centre))-c.R) > 1e-3 {
			return c, false
		}
	}
	return c, true
}
