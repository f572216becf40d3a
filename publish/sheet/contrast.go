package sheet

import (
	"image/color"
	"math"
)

// markContrast is what a mark must have against its ground: WCAG 2.2 success
// criterion 1.4.11.
const markContrast = 3

// legible returns the nearest mixture of a colour with black (on a light
// ground) or white (on a dark one) that a mark can be drawn in. Hue is kept;
// a colour that serves already is returned as it is.
func legible(c, ground color.NRGBA) color.NRGBA {
	towards := 0.0
	if luminance(ground) < 0.18 {
		towards = 1
	}
	for step := range 101 {
		mixed := mix(c, towards, float64(step)/100)
		if contrast(mixed, ground) >= markContrast {
			return mixed
		}
	}
	return mix(c, towards, 1)
}

// mix returns c with a share of a grey (0 black, 1 white), mixed as light.
func mix(c color.NRGBA, grey, share float64) color.NRGBA {
	part := func(v uint8) uint8 {
		return encoded((1-share)*linear(v) + share*grey)
	}
	return color.NRGBA{part(c.R), part(c.G), part(c.B), 0xff}
}

// contrast returns the contrast ratio of WCAG 2.2, 1 to 21.
func contrast(a, b color.NRGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// luminance returns the relative luminance of WCAG 2.2: that of IEC 61966-2-1.
func luminance(c color.NRGBA) float64 {
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

// linear and encoded are the transfer function of IEC 61966-2-1.
func linear(v uint8) float64 {
	s := float64(v) / 255
	if s <= 0.04045 {
		return s / 12.92
	}
	return math.Pow((s+0.055)/1.055, 2.4)
}

func encoded(l float64) uint8 {
	s := 1.055*math.Pow(l, 1/2.4) - 0.055
	if l <= 0.0031308 {
		s = 12.92 * l
	}
	return uint8(math.Round(255 * min(max(s, 0), 1)))
}
