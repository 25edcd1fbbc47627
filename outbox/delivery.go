// Package outbox writes what the builder gets: for each side a report, the templates, the filler map and
// the machine's copy of it all; the comparison of both sides; and the shop's page. It is the last step of
// the way scan -> section -> fit -> outbox and measures nothing itself.
package outbox

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"tipwright/fit"
	"tipwright/scan"
	"tipwright/scan/sheet"
	"tipwright/section"
)

// Names of the files that every whole delivery of a side holds, beside the templates.
const (
	ResultName     = "result.json"
	ReportName     = "report.html"
	SectionName    = "section.csv"
	DeparturesName = "departures.csv"
	MapSVGName     = "filler-map.svg"
	MapPNGName     = "filler-map.png"
	BlankSheetName = "blank-wing.toml" // a wing sheet to fill in; only where there was none
)

// Identity says which delivery this is and what it is made from. It is recorded in result.json, by which
// the shop tells whether a delivery is up to date.
type Identity struct {
	Aircraft string        // the folder's name in the shop
	Side     string        // "left", "right" or "pair"
	Version  string        // of the program
	Sheet    scan.Source   // the wing sheet; zero if there is none
	Airfoil  scan.Source   // the coordinate file that the sheet names; zero for a section by formula
	Files    []scan.Source // every scan of the job, read or not
}

// ScanInfo is what a delivery tells of one scan, without its points.
type ScanInfo struct {
	Source            scan.Source
	Format            string
	Points, Triangles int
	Messages          []scan.Message  // of the reader
	Survey            *section.Survey // what was measured from this scan alone; nil if that failed

	some [][3]float32 // of its points, for a picture of them
}

// Describe returns what a delivery tells of a scan. Of the scan's points it keeps a sample, no more.
func Describe(s *scan.Scan) ScanInfo {
	return ScanInfo{Source: s.Source, Format: s.Format, Points: len(s.Points), Triangles: len(s.Triangles), Messages: s.Messages,
		some: someOf(s)}
}

// Delivery is everything that goes into the folder of one side. For a refused one it holds what was known
// until then: Scans and Result may be missing.
type Delivery struct {
	Identity Identity
	Sheet    *sheet.Sheet // never nil; sheet.Default() where there is none
	Scans    []ScanInfo
	Result   *fit.Result
	Messages []scan.Message // beside those of the scans, the survey and the fit: of the airfoil's file, say
}

// File is one file of a delivery.
type File struct {
	Name string // without a folder
	Data []byte
}

// Deliver writes the whole delivery of one side into dir, an empty folder that the caller then publishes.
// The same delivery gives the same bytes. An error means that dir is not to be used.
func Deliver(dir string, d Delivery) error {
	if d.Result == nil || d.Result.Survey == nil || d.Sheet == nil {
		return errors.New("there is no result to deliver")
	}
	if side := d.Result.Survey.Side.String(); side != d.Identity.Side {
		return fmt.Errorf("the delivery is of the %s wing, but what was measured is the %s one", d.Identity.Side, side)
	}
	files, err := d.files()
	if err != nil {
		return err
	}
	return writeFiles(dir, files)
}

// templateFiles draws everything for the workshop, the wrap sheets among it, and writes it in all formats.
func templateFiles(r *fit.Result, s *sheet.Sheet, id Identity) ([]File, error) {
	var drawings, wraps []NamedDrawing
	err := atOnce(
		func() (err error) { drawings, err = shopDrawings(r, s, id); return err },
		func() error { wraps = wrapDrawings(r, s, id); return nil },
	)
	if err != nil {
		return nil, fmt.Errorf("the templates: %w", err)
	}
	files, err := drawnFiles(drawings, wraps, s)
	if err != nil {
		return nil, fmt.Errorf("the templates: %w", err)
	}
	return files, nil
}

// files makes all files of a delivery: at once what hangs on nothing else, and then the record and the report,
// which name the others.
func (d *Delivery) files() (files []File, err error) {
	var templates, maps, tables, solids []File
	var m *picture
	var view *solidView
	err = atOnce(
		func() (err error) { templates, err = templateFiles(d.Result, d.Sheet, d.Identity); return err },
		func() (err error) { m, maps, err = d.mapFiles(); return err },
		func() (err error) { view, solids, err = d.solid(); return err },
		func() error {
			tables = []File{{SectionName, sectionCSV(d)}, {DeparturesName, departuresCSV(d)}}
			return nil
		},
	)
	if err != nil {
		return nil, err
	}
	files = slices.Concat(templates, maps, tables, solids)
	if d.Identity.Sheet.File == "" {
		files = append(files, File{BlankSheetName, []byte(sheet.Blank())})
	}
	record := newRecord(d, templates)
	data, err := record.encode()
	if err != nil {
		return nil, err
	}
	files = append(files, File{ResultName, data})
	page, err := sidePage(d, record, m, view, append(files, File{Name: ReportName}))
	if err != nil {
		return nil, err
	}
	return append(files, File{ReportName, page}), nil
}

// mapFiles draws the filler map.
func (d *Delivery) mapFiles() (*picture, []File, error) {
	m := newFillerMap(d.Result, d.Identity.Side)
	image, err := m.png(mapPixels)
	if err != nil {
		return nil, nil, fmt.Errorf("the filler map: %w", err)
	}
	return m, []File{{MapSVGName, m.svgFile()}, {MapPNGName, image}}, nil
}

// solid makes the view of the scanned panel and its files for other viewers; nothing if nothing was seen.
func (d *Delivery) solid() (*solidView, []File, error) {
	mesh := newSkinMesh(d.Result.Survey)
	view, err := newSolidView(mesh)
	if view == nil || err != nil {
		return nil, nil, err
	}
	seen := mesh.seenPart()
	glb, err := seen.glb()
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", SolidGLBName, err)
	}
	return view, []File{{SolidPLYName, seen.ply()}, {SolidGLBName, glb}}, nil
}

// Refuse writes the delivery for scans that cannot be used: one page that says what is wrong and what to do
// next, and a result.json that holds nothing but that. The messages say why, in a builder's words.
func Refuse(dir string, d Delivery, messages []scan.Message) error {
	if len(messages) == 0 {
		return errors.New("a refusal must say why")
	}
	record := newRefusal(&d, messages)
	data, err := record.encode()
	if err != nil {
		return err
	}
	page, err := refusedPage(&d, record)
	if err != nil {
		return err
	}
	files := []File{{ResultName, data}, {ReportName, page}}
	if d.Identity.Sheet.File == "" {
		files = append(files, File{BlankSheetName, []byte(sheet.Blank())})
	}
	return writeFiles(dir, files)
}

// writeFiles puts files into a folder, each synced so that a delivery that was published is on the disk.
func writeFiles(dir string, files []File) error {
	slices.SortFunc(files, func(a, b File) int { return cmp.Compare(a.Name, b.Name) })
	for i, f := range files {
		if filepath.Base(f.Name) != f.Name || i > 0 && files[i-1].Name == f.Name {
			return fmt.Errorf("%q cannot be a file of a delivery", f.Name)
		}
	}
	if err := inParallel(len(files), filesAtOnce, func(i int) error { return writeFile(filepath.Join(dir, files[i].Name), files[i].Data) }); err != nil {
		return fmt.Errorf("writing the delivery: %w", err)
	}
	return nil
}

// filesAtOnce is how many files are written and synced at a time. Nearly all of it is waiting for the disk, which
// brings together what waits together: syncing one file after the other takes five times as long.
const filesAtOnce = 16

func writeFile(path string, data []byte) (err error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	if _, err := f.Write(data); err != nil {
		return err
	}
	return f.Sync()
}
