package drawtest

import (
	"encoding/xml"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

type ourSVG struct {
	Width  string `xml:"width,attr"`
	Height string `xml:"height,attr"`
	Box    string `xml:"viewBox,attr"`
	Desc   string `xml:"desc"`
	Layers []struct {
		ID    string     `xml:"id,attr"`
		Dash  string     `xml:"stroke-dasharray,attr"`
		Width float64    `xml:"stroke-width,attr"`
		Items []ourShape `xml:",any"`
	} `xml:"g"`
}

type ourShape struct {
	XMLName xml.Name
	Points  string  `xml:"points,attr"`
	Fill    string  `xml:"fill,attr"`
	X       float64 `xml:"x,attr"`
	Y       float64 `xml:"y,attr"`
	X1      float64 `xml:"x1,attr"`
	Y1      float64 `xml:"y1,attr"`
	X2      float64 `xml:"x2,attr"`
	Y2      float64 `xml:"y2,attr"`
	CX      float64 `xml:"cx,attr"`
	CY      float64 `xml:"cy,attr"`
	R       float64 `xml:"r,attr"`
	Size    float64 `xml:"font-size,attr"`
	Words   string  `xml:",chardata"`
}

// ReadSVG reads an SVG whose user unit is a millimetre and which uses no transform but that of lettering.
// Coordinates are mm from the lower left corner, y up. It fails the test if width, height and view box
// differ or the unit is not mm.
func ReadSVG(t testing.TB, data []byte) Picture {
	t.Helper()
	var s ourSVG
	if err := xml.Unmarshal(data, &s); err != nil {
		t.Fatal(err)
	}
	w, h := strings.TrimSuffix(s.Width, "mm"), strings.TrimSuffix(s.Height, "mm")
	if s.Width != w+"mm" || s.Height != h+"mm" || s.Box != "0 0 "+w+" "+h {
		t.Fatalf("width %q, height %q and view box %q do not make a user unit of 1 mm", s.Width, s.Height, s.Box)
	}
	pic := Picture{Size: r2.Vec{X: points(t, w), Y: points(t, h)}}
	up := func(x, y float64) r2.Vec { return r2.Vec{X: x, Y: pic.Size.Y - y} }
	for _, l := range s.Layers {
		for _, e := range l.Items {
			path := Path{Layer: l.ID, Width: l.Width, Dashed: l.Dash != "", Filled: e.Fill != ""}
			switch e.XMLName.Local {
			case "line":
				path.Points = []r2.Vec{up(e.X1, e.Y1), up(e.X2, e.Y2)}
				pic.Paths = append(pic.Paths, path)
			case "polyline", "polygon":
				path.Closed = e.XMLName.Local == "polygon"
				for _, pair := range strings.Fields(e.Points) {
					x, y, _ := strings.Cut(pair, ",")
					path.Points = append(path.Points, up(points(t, x), points(t, y)))
				}
				pic.Paths = append(pic.Paths, path)
			case "circle":
				pic.Circles = append(pic.Circles, Circle{l.ID, up(e.CX, e.CY), e.R})
			case "text":
				pic.Texts = append(pic.Texts, Text{l.ID, up(e.X, e.Y), e.Size, e.Words})
			default:
				t.Fatalf("an unknown element: %s", e.XMLName.Local)
			}
		}
	}
	return pic
}
