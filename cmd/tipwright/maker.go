package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"

	"tipwright/fit"
	"tipwright/outbox"
	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/scan/inbox"
	"tipwright/scan/sheet"
	"tipwright/section"
	"tipwright/section/airfoil"
)

// maker makes deliveries: it leads one job along the way scan -> section -> fit -> outbox.
type maker struct{ store sideStore }

// Side measures one side and writes its delivery, or the refusal that says what is wrong.
func (m maker) Side(ctx context.Context, job shop.Job) error {
	made, err := measure(ctx, job)
	if changed := untouched(ctx, job, made.Scans); changed != nil {
		return changed
	}
	if err == nil {
		m.store.put(keyOf(job), made)
		return outbox.Deliver(job.Dir, made)
	}
	if why, ok := refusal(err); ok {
		return outbox.Refuse(job.Dir, made, why)
	}
	return err
}

// untouched returns an error if a file is not what it was when the job was begun, so that what was made of it,
// be it a refusal, is worth nothing. The scans that were read have told what they held.
func untouched(ctx context.Context, job shop.Job, read []outbox.ScanInfo) error {
	scans, copies := distinct(job.Scans)
	files := append([]shop.File{job.Sheet, job.Airfoil}, copies...)
	for i, f := range scans {
		switch {
		case i >= len(read):
			files = append(files, f)
		case read[i].Source.SHA256 != f.Source.SHA256:
			return fmt.Errorf("%s: %w", f.Path, inbox.ErrUnsettled)
		}
	}
	for _, f := range files {
		if f.Path == "" {
			continue
		}
		now, _, err := inbox.Stable(ctx, f.Path)
		if err != nil {
			return err
		}
		if now.SHA256 != f.Source.SHA256 {
			return fmt.Errorf("%s: %w", f.Path, inbox.ErrUnsettled)
		}
	}
	return nil
}

// Refuse writes the delivery of a job that was given up.
func (maker) Refuse(job shop.Job, why scan.Message) error {
	if job.Side == shop.Pair {
		return outbox.RefusePair(job.Dir, outbox.PairDelivery{Identity: identity(job), Sheet: sheet.Default()}, []scan.Message{why})
	}
	return outbox.Refuse(job.Dir, outbox.Delivery{Identity: identity(job), Sheet: sheet.Default()}, []scan.Message{why})
}

// measure leads the scans of a side through the steps. On an error the delivery holds what was known until
// then, for the page that says what is wrong.
func measure(ctx context.Context, job shop.Job) (outbox.Delivery, error) {
	d := outbox.Delivery{Identity: identity(job), Sheet: sheet.Default()}
	d.Messages = copiesLeftOut(d.Identity.Files)
	sh, nominal, err := known(job)
	if sh != nil {
		d.Sheet = sh
	}
	if err != nil {
		return d, err
	}
	if err := otherTip(sh, job); err != nil {
		return d, err
	}
	scans, _ := distinct(job.Scans)
	for _, file := range scans {
		if err := ctx.Err(); err != nil {
			return d, err
		}
		s, err := read(file, job.Limits)
		if err != nil {
			return d, err
		}
		v, err := section.Measure(s, sectionOptions(sh, nominal, job.Side))
		// The points are not kept: a scan is large, and the next step needs none of them.
		info := outbox.Describe(s)
		info.Survey = v
		d.Scans = append(d.Scans, info)
		if err != nil {
			return d, ofFile(err, file, len(scans))
		}
	}
	return fitted(d, nominal)
}

// fitted ends a delivery whose scans are measured.
func fitted(d outbox.Delivery, nominal *airfoil.Airfoil) (outbox.Delivery, error) {
	var surveys []*section.Survey
	for _, s := range d.Scans {
		surveys = append(surveys, s.Survey)
	}
	d.Messages = copiesLeftOut(d.Identity.Files)
	if nominal != nil {
		d.Messages = append(d.Messages, nominal.Messages()...)
	}
	var err error
	d.Result, err = fit.Fit(section.Merge(surveys), fitOptions(d.Sheet))
	return d, err
}

// read reads a scan within the limits. It is summed up again only if it may have changed without a trace.
func read(file shop.File, limits shop.Limits) (*scan.Scan, error) {
	s, err := scan.ReadKnown(file.Path, file.Source, file.Still, scan.Limits{MaxBytes: limits.File, MaxPoints: limits.Points})
	if format, ok := errors.AsType[*scan.FormatError](err); ok && format.Over != "" {
		return nil, limits.Over(map[scan.Limit]string{scan.OverBytes: shop.LimitFile, scan.OverPoints: shop.LimitPoints}[format.Over])
	}
	return s, err
}

// identity is what a job's delivery records of itself.
func identity(job shop.Job) outbox.Identity {
	id := outbox.Identity{Aircraft: job.Aircraft, Side: job.Side, Version: job.Version,
		Sheet: job.Sheet.Source, Airfoil: job.Airfoil.Source}
	for _, f := range job.Scans {
		id.Files = append(id.Files, f.Source)
	}
	return id
}

// refusal tells whether an error is the builder's to mend, and returns what to say on the page.
func refusal(err error) (messages []scan.Message, ok bool) {
	var refused *scan.RefusalError
	var format *scan.FormatError
	var sheetErrors sheet.Errors
	switch {
	case errors.As(err, &refused):
		return []scan.Message{refused.Message()}, true
	case errors.As(err, &sheetErrors):
		return sheetRefusal(sheetErrors), true
	case errors.As(err, &format):
		code := "file"
		if format.Cut() {
			code = shop.CutCode
		}
		return []scan.Message{{Code: code, Level: scan.Refusal, Text: format.Error()}}, true
	}
	return nil, false
}

// mostMistakes is how many mistakes of a sheet are told: whoever has more has another file at hand.
const mostMistakes = 25

// sheetRefusal tells what is wrong with a sheet, one message a mistake.
func sheetRefusal(mistakes sheet.Errors) (messages []scan.Message) {
	for _, e := range mistakes[:min(len(mistakes), mostMistakes)] {
		messages = append(messages, scan.Message{Code: "sheet", Level: scan.Refusal, Text: e.Error()})
	}
	if more := len(mistakes) - mostMistakes; more > 0 {
		messages = append(messages, scan.Message{Code: "sheet-more", Level: scan.Refusal,
			Text: fmt.Sprintf("There are %d more mistakes like these in the wing sheet. Is it one?", more)})
	}
	return messages
}

func sideOf(name string) section.Side {
	if name == shop.Right {
		return section.Right
	}
	return section.Left
}

func sectionOptions(sh *sheet.Sheet, nominal *airfoil.Airfoil, side string) section.Options {
	return section.Options{
		Airfoil: nominal, Chord: sh.Chord.MM(), Hinge: sh.Hinge, Side: sideOf(side),
		Unit: sh.Units, TrustScale: sh.TrustScale, TipRib: sh.TipRib.MM(),
		Thickness: sh.Thickness.MM(), MendSplit: sh.MendSplit,
	}
}

func fitOptions(sh *sheet.Sheet) fit.Options {
	return fit.Options{
		TargetNominal: sh.TargetNominal, Band: sh.Band.MM(), ActAbove: sh.ActAbove.MM(), SandLimit: sh.SandLimit.MM(),
		Density: sh.Density, Droop: sh.Droop, Laminate: sh.Laminate.MM(), Kerf: sh.Kerf.MM(),
		Wire: sh.WireDiameter.MM(), TipLength: sh.TipLength.MM(),
	}
}

// Pair compares both sides. A side that this run has not measured itself is measured again, since the
// comparison needs more than its delivery holds.
func (m maker) Pair(ctx context.Context, job shop.Job) error {
	var made [2]outbox.Delivery
	var failed [2]error
	var both sync.WaitGroup
	for i, scans := range [][]shop.File{job.LeftScans(), job.RightScans()} {
		both.Go(func() { made[i], failed[i] = m.side(ctx, job, []string{shop.Left, shop.Right}[i], scans) })
	}
	both.Wait()
	for i, err := range failed {
		if err != nil {
			return m.refusePair(job, made[i], err)
		}
	}
	left, right := made[0], made[1]
	return outbox.Pair(job.Dir, outbox.PairDelivery{
		Identity: identity(job), Sheet: left.Sheet, Scans: slices.Concat(left.Scans, right.Scans),
		Result: fit.Compare(left.Result, right.Result, left.Sheet.PairTolerance.MM()),
	})
}

// side returns what was measured of one side of a pair.
func (m maker) side(ctx context.Context, pair shop.Job, side string, scans []shop.File) (outbox.Delivery, error) {
	pair.Side, pair.Scans = side, scans
	if d, ok := m.store.get(keyOf(pair), pair); ok {
		return d, nil
	}
	d, err := measure(ctx, pair)
	if changed := untouched(ctx, pair, d.Scans); changed != nil {
		return d, changed
	}
	return d, err
}

func (maker) refusePair(job shop.Job, d outbox.Delivery, err error) error {
	why, ok := refusal(err)
	if !ok {
		return err
	}
	return outbox.RefusePair(job.Dir, outbox.PairDelivery{Identity: identity(job), Sheet: d.Sheet, Scans: d.Scans}, why)
}

// keyOf names what a side is measured from.
func keyOf(job shop.Job) string {
	key := strings.Join([]string{job.Aircraft, job.Side, job.Sheet.Source.SHA256, job.Airfoil.Source.SHA256}, "/")
	for _, f := range job.Scans {
		key += "/" + f.Source.SHA256
	}
	return key
}

// Index writes the shop's page.
func (maker) Index(_ context.Context, w io.Writer, entries []shop.Entry) error {
	list := make([]outbox.Entry, len(entries))
	for i, e := range entries {
		list[i] = outbox.Entry(e)
	}
	return outbox.Index(w, list)
}
