package accuracy

import "fmt"

// reasons say why what is not reached is not. What they say of single rows they take from these.
func (r *Report) reasons() []string {
	out := []string{
		"Scale. The tape is laid from the skin's nose to the tail's edge, which is found by maximum likelihood to 0.05 to 0.2 mm. What is left comes from the few points at the edge, from a bend of the whole scan, and from the hinge's height where the aileron is off neutral.",
		"Chord. The outline is right to a few hundredths, but how much of the nose's place is chord and how much is form cannot be told better than the form is known. With the form left out a wave of it shifts the loft fore or aft, with it left in the nose passes for a wave: the mean of both is taken, and the size of the form as the scan tells it is part of U. The row without a form shows what is left then.",
		"Aileron against the bound as drawn. That a wing has no form is told by the scan itself, so that chord, twist, incidence and place come near that bound. The aileron's turn besides is read from the kink at the hinge line, and what a bend of the scan may have done to it is left in, of which noise alone lets the scan expect a little.",
		"Hinge on the lower skin. The wing sheet does not say how high the hinge's axis lies. About an axis below the middle an aileron off neutral also stands a little too far forward or aft, with it the tail's edge, and by the tape the scale. On the skins that is a step at the hinge line of some hundredths of a millimetre for each degree, from which the height is read as far as form and noise let it; beyond that the axis is expected in the middle, and U holds the rest. Set the aileron to neutral before scanning.",
		"Ragged end. Where no rib's face was scanned and the skin's edge is torn, two things alone tell the span axis: the edge, and that ribs are expected to stand square to the spar within 6 degrees. Sweep, taper and twist say how the wing runs and not how its rib stands. About the vertical a torn edge is long enough to tell; about the chord line it is as high as the section and tells ten times less.",
		"Noise that neighbours share looks like shallow spots; the detection limit rises so that they are not reported, and shallow spots drown with them. A sag between ribs is told as such where all of a skin waves alike.",
		"Smoothed meshes. Smoothing is told by the noise that neighbouring corners share. What it took of tail and nose is made up for, 60 % of it is left in U, and a caution says so.",
	}
	if row := r.row("smoothed mesh"); row != nil && row.quantities[Scale].coverage() < coverageWanted[0] {
		t := row.quantities[Scale]
		out = append(out, fmt.Sprintf("Scale of smoothed meshes. Smoothing rounds the tail off, so that its edge is found up to %.1f mm too far forward, and U does not know how often the scanner program smoothed: it holds the truth in %.0f of %.0f.", t.worst, t.within, t.asked))
	}
	if row := r.row("another airfoil in the sheet"); row != nil && row.Told < row.Scans {
		out = append(out, fmt.Sprintf("Another airfoil in the sheet. What the drawing lacks passes for form of the wing. Of %d scans %d passed without a word; their as-built outline was up to %.1f mm wrong.", row.Scans, row.Scans-row.Told, row.quantities[AsBuilt].worst))
	}
	if row := r.row("noise 0.05 mm"); row != nil && row.quantities[Scale].worst > 1 {
		out = append(out, "Noise 0.05 mm, scale and as-built outline. On one wing of the six a wave of its form at the hinge line passes for the step of an axis near the upper skin; built without form, its scale is right to 0.13 mm. Wings that are hinged at a skin would lose more if more were asked of the step.")
	}
	if r.row("no sheet") != nil {
		out = append(out, "No sheet. Without a taped chord every length is the scanner's own, which U holds to 1 %. That the hinge breaks the skin's curve is not known either, and its edges may pass for a low and a high spot.")
	}
	return append(out,
		"Tape 1 mm off. The chord is then wrong by just the U that the tape is given, so that chance tells whether the truth lies within. Tapes as they are have a row of their own.",
		"U wide. The outlines' U is what nine tenths of the outline are known at least as well as, so that more than nineteen twentieths of most outlines lie within it. The forms' sizes are told from each scan; what a bend of the scan may have done to twist, scale and aileron is told by few numbers, of which spots make a little where there is no bend.",
	)
}

// row returns the row of a condition, nil where it was not measured.
func (r *Report) row(name string) *Row {
	for _, row := range r.Rows {
		if row.Condition.Name == name && row.Scans > 0 {
			return row
		}
	}
	return nil
}
