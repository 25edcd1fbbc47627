package scan

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// TestForeign holds that other formats are refused by their names and what to do instead is said.
func TestForeign(t *testing.T) {
	for _, c := range []struct{ data, what, mend string }{
		{"ASTM-E57\x01\x00", "E57", exportInstead},
		{"{\n \"assets\": {}}", "JSON", exportInstead},
		{"2\r\n2\r\n0 0 0\r\n1 0 0\r\n0 1 0\r\n0 0 1\r\n1 0 0 0\r\n", "PTX", exportInstead},
		{"; FBX 7.3.0 project file\n1 2 3\n", "FBX", exportInstead},
		{"Kaydara FBX Binary  \x00\x1a\x00", "FBX", exportInstead},
		{"DRACO\x02\x02\x01", "Draco", exportInstead},
		{"PXR-USDC\x00\x08", "USD", exportInstead},
		{"BLENDER-v300", "BLEND", exportInstead},
		{"\x89HDF\r\n\x1a\n", "HDF", exportInstead},
		{"# vtk DataFile Version 3.0\nwing\nASCII\n0 0 0\n", "VTK", exportInstead},
		{"NDIME= 3\nNELEM= 1\n", "calculations", gridInstead},
		{"$MeshFormat\n2.2 0 8\n", "MSH", exportInstead},
		{"%PDF-1.7\n", "PDF", exportInstead},
		{"\ufeff \n<!DOCTYPE html>\n<html>", "web page", exportInstead},
		{"<?xml version=\"1.0\"?>", "XML", exportInstead},
		{"\xff\xfe1\x00 \x00", "UTF-16", exportInstead},
		{"\x1f\x8b\x08\x00", "packed", stillCopying},
		{"Rar!\x1a\x07\x01\x00", "packed", unpackIt},
		{"7z\xbc\xaf\x27\x1c\x00\x04", "packed", unpackIt},
		{"ISO-10303-21;\nHEADER;", "STEP", solidInstead},
		{fmt.Sprintf("%-72sS%7d\n%-72sG%7d\n", "a wing", 1, "1H,,1H;,4Hwing;", 1), "IGES", solidInstead},
		{"AC1027\x00\x00\x00", "DWG", solidInstead},
		{"3D Geometry File Format        4", "3DM", solidInstead},
		{"  0\r\nSECTION\r\n  2\r\nHEADER\r\n", "DXF", solidInstead},
		{"\x89PNG\r\n\x1a\n", "a picture", scanInstead},
		{"\xff\xd8\xff\xe0\x00\x10JFIF", "picture", scanInstead},
		{"\x00\x00\x00\x18ftypheic", "picture", scanInstead},
		{"MM\x00*\x00\x00", "picture", scanInstead},
		{"BM\x36\x10\x00\x00\x00\x00\x00\x00\x36\x00", "picture", scanInstead},
		{"RIFF\x10\x20\x00\x00WEBPVP8 ", "picture", scanInstead},
		{"RIFF\x10\x20\x00\x00AVI LIST", "film", filmInstead},
		{"\x1aE\xdf\xa3\x01", "film", filmInstead},
		{"\x00\x00\x00\x18ftypqt  ", "film", filmInstead},
	} {
		_, err := Decode([]byte(c.data), "left.xyz", Limits{})
		checkForeign(t, err, c.what, c.mend)
	}
}

// TestForeignNames holds that a name tells only where contents do not.
func TestForeignNames(t *testing.T) {
	for _, c := range []struct{ name, what, mend string }{
		{"left.usdz", "USDZ", exportInstead}, {"left.FBX", "FBX", exportInstead}, {"left.laz", "LAZ", exportInstead},
		{"wing.toml", "wing sheet", exportInstead}, {"left.ptx", "PTX", exportInstead}, {"left.dwg", "drawing", solidInstead},
		{"left.bmp", "picture", scanInstead}, {"left.avi", "film", filmInstead}, {"left.rar", "packed", unpackIt},
	} {
		_, err := Decode([]byte("\x01\x02 no telling contents"), c.name, Limits{})
		checkForeign(t, err, c.what, c.mend)
	}
	for _, name := range []string{"left.node", "left.su2", "left.BDF", "left.raw"} {
		_, err := Decode([]byte("1 2 3\n4 5 6\n"), name, Limits{})
		checkForeign(t, err, map[bool]string{true: "a list of triangles", false: "a mesh for calculations"}[name == "left.raw"], gridInstead)
	}
	if _, err := Decode([]byte("1 2 3\n4 5 6\n"), "left.dxf", Limits{}); err != nil {
		t.Errorf("contents go before the name: %v", err)
	}
	if _, err := Decode([]byte(binarySTLNamed("BM")), "left.stl", Limits{}); err != nil {
		t.Errorf("two letters make no picture: %v", err)
	}
}

// binarySTLNamed returns a binary STL of one triangle whose header begins so.
func binarySTLNamed(head string) string {
	b := []byte(binarySTL(head+" of a wing", 1, stlTriangle))
	b[stlHeader+12+3*4+2], b[stlHeader+12+3*4+3] = 0x80, 0x3f // x of the second corner is 1
	b[stlHeader+12+7*4+2], b[stlHeader+12+7*4+3] = 0x80, 0x3f // y of the third
	return string(b)
}

func checkForeign(t *testing.T, err error, what, mend string) {
	t.Helper()
	var f *FormatError
	if !errors.As(err, &f) || !strings.Contains(f.Msg, what) || f.Mend != mend {
		t.Errorf("%s: %v", what, err)
	}
}
