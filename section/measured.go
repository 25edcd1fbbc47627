package section

// Measured is a measured quantity with its expanded uncertainty U, coverage factor k = 2: the truth lies
// within Value ± U with about 95 % probability (JCGM 100:2008, 6.2). Both in the same unit, which the
// field that holds it names.
type Measured struct {
	Value float64 `json:"value"`
	U     float64 `json:"u"`
}
