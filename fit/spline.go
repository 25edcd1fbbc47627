package fit

import "math"

// bspline is a uniform cubic B-spline basis on [0, length] with intervals knots apart.
type bspline struct {
	length    float64
	intervals int
}

func (b bspline) size() int        { return b.intervals + 3 }
func (b bspline) spacing() float64 { return b.length / float64(b.intervals) }

// at returns the first of the four functions that are not zero at x, and their values there (the uniform
// cubic B-spline, de Boor 1978).
func (b bspline) at(x float64) (first int, v [4]float64) {
	t := x / b.length * float64(b.intervals)
	first = min(max(int(math.Floor(t)), 0), b.intervals-1)
	u := t - float64(first)
	w := 1 - u
	v[0] = w * w * w / 6
	v[1] = (3*u*u*u - 6*u*u + 4) / 6
	v[2] = (3*w*w*w - 6*w*w + 4) / 6
	v[3] = u * u * u / 6
	return first, v
}

// roughness calls add with each entry of the penalty that equals the integral of the squared derivative of
// the given order (1, 2 or 4), by differences of the coefficients (Eilers & Marx, Stat. Sci. 11 (1996) 89):
// the sum of squared differences of order d is spacing^(2d-1) times that integral. ease is the share of the
// penalty that counts at a place.
func (b bspline) roughness(order int, ease func(x float64) float64, add func(i, j int, v float64)) {
	d := [][]float64{1: {-1, 1}, 2: {1, -2, 1}, 4: {1, -4, 6, -4, 1}}[order]
	scale := math.Pow(b.spacing(), -float64(2*order-1))
	for k := 0; k+len(d) <= b.size(); k++ {
		// Function k has its middle at (k-1) spacings.
		share := ease((float64(k) + float64(order)/2 - 1) * b.spacing())
		for i, u := range d {
			for j, v := range d {
				if i <= j {
					add(k+i, k+j, share*scale*u*v)
				}
			}
		}
	}
}
