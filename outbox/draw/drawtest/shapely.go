package drawtest

import (
	"encoding/json"
	"os/exec"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan/outside"
)

// FoundByShapely is what GEOS finds in the closed outlines of a drawing.
type FoundByShapely struct {
	Name   string
	Valid  bool    // no outline crosses or touches itself
	Same   int     // pairs of outlines that lie on each other
	Least  float64 // mm, the shortest step from point to point
	Off    float64 // mm, the first outline from the parallel by GEOS
	Missed float64 // mm, the parallel by GEOS from the first outline
}

const shapelyScript = `
import json, sys
from shapely.geometry import LinearRing, Polygon
out = []
for job in json.load(sys.stdin):
    rings = [LinearRing([(p["X"], p["Y"]) for p in r]) for r in job["Rings"]]
    least = min(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for r in rings for a, b in zip(r.coords, r.coords[1:]))
    same = sum(a.hausdorff_distance(b) < 0.05 for i, a in enumerate(rings) for b in rings[:i])
    one = {"Name": job["Name"], "Valid": all(r.is_valid for r in rings), "Same": same, "Least": least, "Off": 0, "Missed": 0}
    if job["Target"]:
        target = Polygon([(p["X"], p["Y"]) for p in job["Target"]])
        want = target.buffer(job["Offset"], 256, join_style=1)
        want = max(getattr(want, "geoms", [want]), key=lambda g: g.area).exterior
        for name, a, b in [("Off", rings[0], want), ("Missed", want, rings[0])]:
            n = int(a.length) + 1
            points = [a.interpolate(i / n, normalized=True) for i in range(n)]
            one[name] = max(b.distance(p) for p in points if p.x < job["Before"])
    out.append(one)
print(json.dumps(out))
`

// OutlineJob is a drawing's closed outlines, and the line to which the first of them must be parallel, if any.
type OutlineJob struct {
	Name   string
	Rings  [][]r2.Vec
	Target []r2.Vec
	Offset float64 // mm, outward is positive
	Before float64 // only points with x below this are held against the parallel
}

// CheckByShapely lets GEOS, through shapely, look at closed outlines.
func CheckByShapely(t testing.TB, jobs []OutlineJob) []FoundByShapely {
	t.Helper()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import shapely").Run(); err != nil {
		outside.Missing(t, "shapely", "python3-shapely")
	}
	in, err := json.Marshal(jobs)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", shapelyScript)
	cmd.Stdin = strings.NewReader(string(in))
	out, err := cmd.Output()
	if err != nil {
		text := ""
		if e, ok := err.(*exec.ExitError); ok {
			text = string(e.Stderr)
		}
		t.Fatalf("shapely: %v %s", err, text)
	}
	var found []FoundByShapely
	if err := json.Unmarshal(out, &found); err != nil || len(found) != len(jobs) {
		t.Fatalf("%v, %d answers to %d jobs", err, len(found), len(jobs))
	}
	return found
}
