// Package scan reads the files that a phone or scanner wrote into one value, a [Scan], whatever their
// format. It is the first step of the way file -> scan -> section -> fit -> outbox and knows nothing of
// wings: points and triangles stay in the scan frame and in the file's own unit.
package scan

import "fmt"

// Scan is one scanned surface in the scan frame: the file's own axes, in the file's own unit.
//
// A mesh has Triangles; a cloud has none. Point i lies at Origin + Points[i]: the origin keeps the full
// precision of files whose coordinates are large, while the bulk stays in float32.
type Scan struct {
	Source    Source
	Format    string       // "stl", "ply", "obj", "3mf", "gltf", "las", "off", "pcd" or "xyz"
	Origin    [3]float64   // file units; zero for most files
	Points    [][3]float32 // file units, all finite
	Triangles [][3]uint32  // indices into Points, all in range; nil for a cloud
	Unit      Unit         // what the format itself prescribes; UnitUnknown for those that say nothing
	Messages  []Message    // what the reader put up with, such as points dropped because they were NaN
}

// Source says which file a scan or wing sheet came from, so that a delivery can tell whether it is still
// up to date.
type Source struct {
	File   string // the base name, without folders
	SHA256 string // of the whole contents, lower-case hexadecimal
	Bytes  int64
}

// At returns point i in file units, with the origin added, in the scan frame.
func (s *Scan) At(i int) [3]float64 {
	p := s.Points[i]
	return [3]float64{
		s.Origin[0] + float64(p[0]),
		s.Origin[1] + float64(p[1]),
		s.Origin[2] + float64(p[2]),
	}
}

// Unit is a unit of length that a scan may be written in.
type Unit string

// The units that scanners and meshes are met in. The inch is 25.4 mm exactly (the international yard and
// pound agreement of 1959) and the foot twelve inches.
const (
	UnitUnknown Unit = ""
	Millimetre  Unit = "mm"
	Centimetre  Unit = "cm"
	Metre       Unit = "m"
	Inch        Unit = "in"
	Foot        Unit = "ft"
)

// Units lists the known units, the smallest first.
func Units() []Unit { return []Unit{Millimetre, Centimetre, Inch, Foot, Metre} }

// MM returns how many millimetres one unit is; 0 for UnitUnknown.
func (u Unit) MM() float64 {
	switch u {
	case Millimetre:
		return 1
	case Centimetre:
		return 10
	case Metre:
		return 1000
	case Inch:
		return 25.4
	case Foot:
		return 304.8
	}
	return 0
}

// Words returns the unit written out, many of it: "millimetres". It is empty for UnitUnknown.
func (u Unit) Words() string {
	switch u {
	case Millimetre:
		return "millimetres"
	case Centimetre:
		return "centimetres"
	case Metre:
		return "metres"
	case Inch:
		return "inches"
	case Foot:
		return "feet"
	}
	return ""
}

// ParseUnit reads a unit as a builder writes it: "mm", "cm", "m", "in" or "ft".
func ParseUnit(s string) (Unit, error) {
	for _, u := range Units() {
		if string(u) == s {
			return u, nil
		}
	}
	return UnitUnknown, fmt.Errorf("%q is not a unit known here: write mm, cm, m, in or ft", s)
}
