package main

import (
	"crypto/sha256"
	"encoding/gob"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"

	"tipwright/outbox"
	"tipwright/outbox/shop"
)

// sideStore is a folder in which what was measured of each side waits for its pair, some hundred kilobytes a side,
// so that no wing is measured twice. It ends with the run of the program. Nothing hangs on it: a side that is
// not there is measured again. The empty one keeps nothing.
type sideStore string

// keptSide is a side as it is kept, without the airfoil, which is loaded again.
type keptSide struct{ Scans []outbox.ScanInfo }

// mostKept bounds how many sides a long-lived service keeps.
const mostKept = 200

// put keeps the scans of a delivery, of which it changes nothing. A side without a given airfoil is not kept,
// since the section that stands in for it is known by the survey alone.
func (k sideStore) put(key string, d outbox.Delivery) {
	if k == "" || os.MkdirAll(string(k), 0o700) != nil {
		return
	}
	if old, err := os.ReadDir(string(k)); err == nil && len(old) >= mostKept {
		_ = os.RemoveAll(string(k))
		_ = os.MkdirAll(string(k), 0o700)
	}
	var side keptSide
	for _, s := range d.Scans {
		survey := *s.Survey
		if survey.StandIn {
			return
		}
		survey.Loft.Airfoil = nil
		s.Survey = &survey
		side.Scans = append(side.Scans, s)
	}
	f, err := os.CreateTemp(string(k), "new-")
	if err != nil {
		return
	}
	if errors.Join(gob.NewEncoder(f).Encode(side), f.Close()) != nil || os.Rename(f.Name(), k.file(key)) != nil {
		_ = os.Remove(f.Name())
	}
}

// get returns the delivery that was kept under a key; ok is false if there is none.
func (k sideStore) get(key string, job shop.Job) (d outbox.Delivery, ok bool) {
	if k == "" {
		return d, false
	}
	f, err := os.Open(k.file(key))
	if err != nil {
		return d, false
	}
	defer f.Close()
	var side keptSide
	if gob.NewDecoder(f).Decode(&side) != nil {
		return d, false
	}
	sh, nominal, err := known(job)
	if err != nil || nominal == nil {
		return d, false
	}
	for _, s := range side.Scans {
		s.Survey.Loft.Airfoil = nominal
	}
	d, err = fitted(outbox.Delivery{Identity: identity(job), Sheet: sh, Scans: side.Scans}, nominal)
	return d, err == nil
}

func (k sideStore) file(key string) string {
	sum := sha256.Sum256([]byte(key))
	return filepath.Join(string(k), hex.EncodeToString(sum[:16]))
}
