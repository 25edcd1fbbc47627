package outbox

import (
	"fmt"
	"image/color"
	"math"
)

// tone names what a colour is for, so that one drawing serves light and dark pages, print and PNG.
type tone string

const (
	noTone     tone = ""
	ink        tone = "ink"    // outlines and words
	muted      tone = "muted"  // secondary words, rulers
	rule       tone = "rule"   // grid lines
	ground     tone = "ground" // behind everything
	skin       tone = "skin"   // the wing's skin where nothing is to be done
	shade      tone = "shade"  // what cannot be told
	accent     tone = "accent" // the nominal
	targetTone tone = "target"
)

// fillTones is the number of steps between fair and the deepest low or highest high spot.
const fillTones = 6

// low returns the tone of the k-th step of depth, high that of height; k from 0 to fillTones-1.
func low(k int) tone  { return tone(fmt.Sprintf("low%d", min(max(k, 0), fillTones-1))) }
func high(k int) tone { return tone(fmt.Sprintf("high%d", min(max(k, 0), fillTones-1))) }

// paint is one tone as it looks by day and by night.
type paint struct {
	tone        tone
	light, dark color.RGBA
}

// paints lists all tones in a fixed order.
func paints() []paint {
	list := []paint{
		{tone: ink, light: rgb(0x1f262b), dark: rgb(0xe8e4da)},
		{tone: muted, light: rgb(0x5a656d), dark: rgb(0xa3acb1)},
		{tone: rule, light: rgb(0xd8d5cc), dark: rgb(0x3a4349)},
		{tone: ground, light: rgb(0xffffff), dark: rgb(0x1c2226)},
		{tone: skin, light: rgb(0xf1efe9), dark: rgb(0x273037)},
		{tone: shade, light: rgb(0xe3e0d7), dark: rgb(0x333d44)},
		{tone: accent, light: rgb(0x1f5f7a), dark: rgb(0x86c2d8)},
		{tone: targetTone, light: rgb(0x6a4fa0), dark: rgb(0xbda8ea)},
	}
	for k := range fillTones {
		t := float64(k+1) / fillTones
		list = append(list, paint{tone: low(k), light: byDay(t, lowHue), dark: byNight(t, lowHue)})
		list = append(list, paint{tone: high(k), light: byDay(t, highHue), dark: byNight(t, highHue)})
	}
	return list
}

// daylight holds the light colours of all tones; one that is not among them is black.
type daylight map[tone]color.RGBA

func newDaylight() daylight {
	d := daylight{}
	for _, p := range paints() {
		d[p.tone] = p.light
	}
	return d
}

func (d daylight) of(t tone) color.RGBA {
	c := d[t]
	c.A = 255
	return c
}

// colour returns the light colour of one tone.
func colour(t tone) color.RGBA { return newDaylight().of(t) }

func rgb(v uint32) color.RGBA {
	return color.RGBA{R: uint8(v >> 16), G: uint8(v >> 8), B: uint8(v), A: 255}
}

func hex(c color.RGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// The colours of depth are computed by the method of K. Moreland, "Diverging Color Maps for Scientific
// Visualization", ISVC 2009 (LNCS 5876, from memory): both ends lie equally far from the middle in Msh
// space, the polar form of CIELAB, so that equal steps look equal and neither side outweighs the other. The
// two hues, blue and orange, are our own choice: people who confuse red with green tell them apart.
const (
	endM    = 78.0
	endS    = 0.98  // rad
	lowHue  = -1.28 // rad, blue
	highHue = 1.02  // rad, orange
	whiteM  = 94.0
)

// byDay returns the colour a share t of the way from the light middle to an end of the given hue.
func byDay(t, hue float64) color.RGBA {
	// Towards the unsaturated middle the hue has to spin a little for the steps to stay even.
	spin := endS * math.Sqrt(math.Max(whiteM*whiteM-endM*endM, 0)) / (endM * math.Sin(endS))
	if hue < -math.Pi/3 {
		spin = -spin
	}
	return msh(whiteM+(endM-whiteM)*t, endS*t, hue+spin*(1-t))
}

// byNight returns the colour a share t of the way from a dark middle to a light end.
func byNight(t, hue float64) color.RGBA { return msh(40+46*t, 0.86-0.12*t, hue) }

// msh converts from Msh (radius, and angles from the axis of lightness and of hue in CIELAB) to sRGB.
func msh(m, s, h float64) color.RGBA {
	return lab(m*math.Cos(s), m*math.Sin(s)*math.Cos(h), m*math.Sin(s)*math.Sin(h))
}

// lab converts CIELAB under D65 (CIE 15:2004, from memory) to sRGB (IEC 61966-2-1, from memory). What the
// screen cannot show is clipped.
func lab(l, a, b float64) color.RGBA {
	const xn, yn, zn = 0.95047, 1, 1.08883
	fy := (l + 16) / 116
	x, y, z := xn*unLab(fy+a/500), yn*unLab(fy), zn*unLab(fy-b/200)
	return color.RGBA{
		R: gamma(3.2406*x - 1.5372*y - 0.4986*z),
		G: gamma(-0.9689*x + 1.8758*y + 0.0415*z),
		B: gamma(0.0557*x - 0.2040*y + 1.0570*z),
		A: 255,
	}
}

func unLab(f float64) float64 {
	if f > 6.0/29 {
		return f * f * f
	}
	return 3 * (6.0 / 29) * (6.0 / 29) * (f - 4.0/29)
}

func gamma(v float64) uint8 {
	v = math.Min(math.Max(v, 0), 1)
	if v <= 0.0031308 {
		v *= 12.92
	} else {
		v = 1.055*math.Pow(v, 1/2.4) - 0.055
	}
	return uint8(math.Round(255 * v))
}
