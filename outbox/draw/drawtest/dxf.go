package drawtest

import (
	"bufio"
	"bytes"
	"encoding/json"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan/outside"
)

// pair is a group code with its value.
type pair struct {
	code  int
	value string
}

// ReadDXF reads ASCII DXF of release 12 by group codes alone. It fails the test for anything but ASCII, a
// release other than AC1009, an entity or variable that release 12 does not have, or a layer that is used
// and not in the table.
func ReadDXF(t testing.TB, data []byte) Picture {
	t.Helper()
	pairs := pairsOf(t, data)
	var pic Picture
	layers := map[string]bool{}
	section := ""
	for i := 0; i < len(pairs); i++ {
		p := pairs[i]
		switch {
		case p == pair{0, "SECTION"}:
			section = pairs[i+1].value
		case p == pair{0, "ENDSEC"}:
			section = ""
		case p.code == 9 && p.value == "$INSUNITS":
			t.Error("release 12 has no $INSUNITS")
		case p.code == 9 && p.value == "$ACADVER" && pairs[i+1].value != "AC1009":
			t.Errorf("release %s", pairs[i+1].value)
		case section == "TABLES" && p == pair{0, "LAYER"}:
			layers[pairs[i+1].value] = true
		case section == "ENTITIES" && p.code == 0:
			end := i + 1
			for pairs[end].code != 0 {
				end++
			}
			pic.entity(t, p.value, pairs[i+1:end], layers)
			i = end - 1
		}
	}
	if pairs[len(pairs)-1] != (pair{0, "EOF"}) {
		t.Error("the file does not end with EOF")
	}
	return pic
}

func pairsOf(t testing.TB, data []byte) []pair {
	t.Helper()
	for i, c := range data {
		if c > '~' || c < ' ' && c != '\r' && c != '\n' {
			t.Fatalf("byte %d is %#x, not ASCII", i, c)
		}
	}
	var pairs []pair
	scan := bufio.NewScanner(bytes.NewReader(data))
	for scan.Scan() {
		code, err := strconv.Atoi(strings.TrimSpace(scan.Text()))
		if err != nil || !scan.Scan() {
			t.Fatalf("after %d pairs: %q is no group code with a value", len(pairs), scan.Text())
		}
		if len(scan.Text()) > 255 || strings.Contains(scan.Text(), "%%") {
			t.Errorf("value %q is too long or holds a control code", scan.Text())
		}
		pairs = append(pairs, pair{code, strings.TrimSpace(scan.Text())})
	}
	return pairs
}

func (pic *Picture) entity(t testing.TB, kind string, pairs []pair, layers map[string]bool) {
	t.Helper()
	text := map[int]string{}
	for _, p := range pairs {
		text[p.code] = p.value
	}
	num := func(code int) float64 { return points(t, text[code]) }
	layer := text[8]
	if !layers[layer] {
		t.Errorf("layer %q of a %s is not in the table", layer, kind)
	}
	switch kind {
	case "LINE":
		pic.Paths = append(pic.Paths, Path{Layer: layer, Points: []r2.Vec{{X: num(10), Y: num(20)}, {X: num(11), Y: num(21)}}})
	case "POLYLINE":
		pic.Paths = append(pic.Paths, Path{Layer: layer, Closed: text[70] == "1"})
	case "VERTEX":
		last := &pic.Paths[len(pic.Paths)-1]
		last.Points = append(last.Points, r2.Vec{X: num(10), Y: num(20)})
	case "SEQEND":
	case "CIRCLE":
		pic.Circles = append(pic.Circles, Circle{layer, r2.Vec{X: num(10), Y: num(20)}, num(40)})
	case "TEXT":
		pic.Texts = append(pic.Texts, Text{layer, r2.Vec{X: num(10), Y: num(20)}, num(40), text[1]})
	default:
		t.Errorf("%s is not an entity of release 12 that is known here", kind)
	}
}

const ezdxfScript = `
import sys, json, ezdxf
doc = ezdxf.readfile(sys.argv[1])
audit = doc.audit()
out = {"Release": doc.dxfversion, "Errors": [e.message for e in audit.errors + audit.fixes], "Paths": [], "Circles": [], "Texts": []}
for e in doc.modelspace():
    kind, layer = e.dxftype(), e.dxf.layer
    xy = lambda p: {"X": p[0], "Y": p[1]}
    if kind == "LINE":
        out["Paths"].append({"Layer": layer, "Points": [xy(e.dxf.start), xy(e.dxf.end)], "Closed": False})
    elif kind == "POLYLINE":
        out["Paths"].append({"Layer": layer, "Points": [xy(v.dxf.location) for v in e.vertices], "Closed": e.is_closed})
    elif kind == "CIRCLE":
        out["Circles"].append({"Layer": layer, "Centre": xy(e.dxf.center), "R": e.dxf.radius})
    elif kind == "TEXT":
        out["Texts"].append({"Layer": layer, "At": xy(e.dxf.insert), "Height": e.dxf.height, "Words": e.dxf.text})
    else:
        out["Errors"].append("entity " + kind)
print(json.dumps(out))
`

// ReadDXFByEzdxf reads DXF by the Python library ezdxf and fails the test for whatever its audit finds.
func ReadDXFByEzdxf(t testing.TB, data []byte) Picture {
	t.Helper()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import ezdxf").Run(); err != nil {
		outside.Missing(t, "ezdxf", "python3-ezdxf")
	}
	var got struct {
		Picture
		Release string
		Errors  []string
	}
	if err := json.Unmarshal(run(t, python, "-c", ezdxfScript, save(t, "drawing.dxf", data)), &got); err != nil {
		t.Fatal(err)
	}
	if got.Release != "AC1009" || len(got.Errors) > 0 {
		t.Errorf("ezdxf finds release %s and %q", got.Release, got.Errors)
	}
	return got.Picture
}
