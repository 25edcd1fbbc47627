package scan

import (
	"strings"
	"testing"
)

// TestShown renders pieces of files for a message.
func TestShown(t *testing.T) {
	for piece, want := range map[string]string{
		"f 1 2":                         `"f 1 2"`,
		"a\tb":                          `"a b"`,
		"Fl\xe4che links":               `"Fl?che links"`,
		"Tragfläche":                    `"Tragfläche"`,
		"\x9f\x00\xc1w":                 "the bytes 9f 00 c1 77",
		"\xff\xfe\xfd\xfc\xfb\xfa12345": "the bytes ff fe fd fc fb fa 31 32 ...",
		strings.Repeat("ab", 30):        `"` + strings.Repeat("ab", 20) + `..."`,
	} {
		if got := shown([]byte(piece)); got != want {
			t.Errorf("%q is shown as %s, want %s", piece, got, want)
		}
	}
}

// TestStrangeHeaderLine passes over a header line that is no statement, in a text whose rows bear out the rest.
func TestStrangeHeaderLine(t *testing.T) {
	good := strings.Replace(asciiHead("3"), "element", "Made by a wing program\nelement", 1) + faceHead + "0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n"
	s, err := Decode([]byte(good), "left.ply", Limits{})
	if err != nil || len(s.Points) != 3 || len(s.Triangles) != 1 {
		t.Fatalf("%v, %v", s, err)
	}
	has(t, s, "header-line", Note)
	for _, bad := range []string{
		strings.Replace(good, "property float z", "propert float z", 1),
		strings.Replace(good, "element face 1", "elemen face 1", 1),
		strings.Replace(strings.Replace(good, "property float x", "propertx float nx\nproperty float x", 1), "0 0 0\n1 0 0\n0 1 0\n", "0 0 0 1\n1 0 0 1\n0 1 0 1\n", 1),
		strings.Replace(good, "ascii", "binary_little_endian", 1),
	} {
		if s, err := Decode([]byte(bad), "left.ply", Limits{}); err == nil {
			t.Errorf("%q gave %d points and %d triangles", bad, len(s.Points), len(s.Triangles))
		}
	}
}

// TestUnsteadyRows refuses tables that list more than points, and puts up with a value missing here and there.
func TestUnsteadyRows(t *testing.T) {
	nodes := strings.Repeat("7 3 0.5 1.5 2.5\n", 6) + strings.Repeat("1 10 1 2 3 4 5 6\n", 6)
	if _, err := Decode([]byte(nodes), "mesh.txt", Limits{}); err == nil || !strings.Contains(err.Error(), "line 7: its lines have now 5 numbers") {
		t.Errorf("nodes and what they join: %v", err)
	}
	cloud := strings.Repeat("0.5 1.5 2.5 30\n", 20)
	s, err := Decode([]byte(cloud+"0 0 1\n1 2 3 4 left\n1 1 1 30 rim\n"), "left.txt", Limits{})
	if err != nil || len(s.Points) != 23 {
		t.Errorf("a value missing once: %v, %v", s, err)
	}
	for _, labels := range []string{"0 0 1 7\n0 1 1 7a\n", "0 0 1 12 left rib\n0 1 1 12 skin\n"} {
		if s, err := Decode([]byte(strings.Repeat(labels, 9)), "left.txt", Limits{}); err != nil || len(s.Points) != 18 {
			t.Errorf("labels: %v, %v", s, err)
		}
	}
}

// TestCountsBeforeOBJ reads an OBJ that begins with the numbers of its points and faces, if its name says OBJ.
func TestCountsBeforeOBJ(t *testing.T) {
	data := "3 1\r\nv 0 0 0\r\nv 1 0 0\r\nv 0 1 0\r\nf 1 2 3\r\n"
	s, err := Decode([]byte(data), "left.obj", Limits{})
	if err != nil || len(s.Points) != 3 || len(s.Triangles) != 1 {
		t.Errorf("%v, %v", s, err)
	}
}

// TestFlowTables are refused by name: their numbers are no points, or not in this order.
func TestFlowTables(t *testing.T) {
	for _, head := range []string{" variables = x y\n zone i=3\n", "TITLE = \"wing\"\nVARIABLES = x y z\n"} {
		_, err := Decode([]byte(head+strings.Repeat("0.1 0.2 0.3\n", 9)), "flow.dat", Limits{})
		if err == nil || !strings.Contains(err.Error(), "a flow over a grid") {
			t.Errorf("got %v", err)
		}
	}
}

// TestFreeForm refuses an OBJ of free-form surfaces alone, whose points do not lie on them.
func TestFreeForm(t *testing.T) {
	points := "v 0 0 0\nv 1 0 2\nv 0 1 0\nv 1 1 0\n"
	free := "cstype bezier\ndeg 1 1\nsurf 0 1 0 1 1 2 3 4\nparm u 0 1\nparm v 0 1\nend\n"
	if _, err := Decode([]byte(points+free), "left.obj", Limits{}); err == nil || !strings.Contains(err.Error(), "line 7: its surfaces are free-form") {
		t.Errorf("got %v", err)
	}
	s, err := Decode([]byte(points+"f 1 2 3\n"+free), "left.obj", Limits{})
	if err != nil {
		t.Fatal(err)
	}
	has(t, s, "free-form", Caution)
}

// TestEndlessLines refuses texts whose points are not on lines, without taking them apart first.
func TestEndlessLines(t *testing.T) {
	for _, data := range []string{strings.Repeat("1.5 2.5 3.5 ", 1000), "1,2,3" + strings.Repeat(",", 1<<20)} {
		if _, err := Decode([]byte(data), "left.xyz", Limits{}); err == nil || !strings.Contains(err.Error(), "line 1: the line has 1000 values or more") {
			t.Errorf("got %v", err)
		}
	}
}
