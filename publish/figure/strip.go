package figure

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// Palette gives the display colour (sRGB) of a wavelength in nm at full
// brightness, transparent where the eye sees nothing.
type Palette func(nm float64) color.NRGBA

// Strip is a spectrum drawn as a thin band of its wavelengths. The colour of a
// place is that of its wavelength, its brightness on the screen (linear light)
// proportional to the power there, the strongest place being at full: it shows
// power, not how bright the eye finds it. Beyond the palette it is grey, and
// what the spectrum does not cover is left out.
type Strip struct {
	Wavelengths []float64 // nm, increasing
	Values      []float64 // power per nm, any unit
	Colours     Palette   // nil for [SpectralColours]
	From, To    float64   // range in nm; both zero for 380 to 780
	Height      float64   // design px; zero is 14
}

// Picture returns the strip alone, without any lettering, for tables and
// headings. It is not to be the only place where the spectrum is shown.
func (s Strip) Picture() (*Picture, error) {
	s.From, s.To = visibleUnless(s.From, s.To)
	if s.Height == 0 {
		s.Height = 14
	}
	if err := checkCurve("strip", s.Wavelengths, s.Values); err != nil {
		return nil, err
	}
	if s.Colours == nil {
		s.Colours = SpectralColours
	}
	if s.To <= s.From || s.Height < 0 {
		return nil, fmt.Errorf("figure: strip: %g nm to %g nm at %g px is no strip", s.From, s.To, s.Height)
	}
	_, _, peak, ok := extreme(s.Wavelengths, s.Values, s.From, s.To)
	alt := fmt.Sprintf("Spectrum from %g to %g nm", s.From, s.To)
	if ok {
		alt += fmt.Sprintf(", strongest at %s nm", fixed(peak, 0))
	}
	return &Picture{Name: "strip", Alt: alt + ".", Width: 120, drawing: s}, nil
}

func visibleUnless(from, to float64) (float64, float64) {
	if from == 0 && to == 0 {
		return 380, 780
	}
	return from, to
}

func (s Strip) height(vg.Length) vg.Length { return vg.Length(s.Height) }

func (s Strip) draw(p *pen, box vg.Rectangle) {
	f := frame{box, s.From, s.To, 0, 1}
	p.strip(f, s.Wavelengths, s.Values, s.Colours)
}

var (
	stripGround = rgb(0x08090a) // no light
	stripUnseen = rgb(0x9a9fa5) // ultraviolet and infrared at full
)

// strip fills a frame's box with the band of a spectrum.
func (p *pen) strip(f frame, nm, values []float64, colours Palette) {
	const column = 1 // px
	f.box = snap(f.box)
	start := f.box.Min.X
	columns := int(math.Ceil(float64(f.box.Max.X-start)/column - 1e-9))
	perColumn := (f.x1 - f.x0) * column / float64(f.box.Max.X-start)
	power := make([]float64, columns)
	peak := 0.0
	for i := range power {
		a := f.x0 + float64(i)*perColumn
		power[i] = meanOver(nm, values, a, a+perColumn)
		if power[i] > peak { // false for NaN, which marks what is not covered
			peak = power[i]
		}
	}
	shade := func(i int) (color.NRGBA, bool) {
		if math.IsNaN(power[i]) {
			return color.NRGBA{}, false
		}
		if peak == 0 {
			return stripGround, true
		}
		full := colours(f.x0 + (float64(i)+0.5)*perColumn)
		if full.A == 0 {
			full = stripUnseen
		}
		return dim(full, max(power[i], 0)/peak), true
	}
	for i := 0; i < columns; {
		c, covered := shade(i)
		end := i + 1
		for end < columns {
			if next, on := shade(end); on != covered || apart(next, c) > 2 {
				break
			}
			end++
		}
		if covered {
			// Half a pixel under the next column, so that no seam shows.
			x1 := min(start+vg.Length(end)*column+0.5, f.box.Max.X)
			p.rect(c, rectangle(start+vg.Length(i)*column, f.box.Min.Y, x1, f.box.Max.Y))
		}
		i = end
	}
	p.frameRect(inkGrid, 1, f.box)
}

// apart is the largest difference of two colours in a primary; up to 2 of 255 it
// is not seen side by side.
func apart(a, b color.NRGBA) int {
	d := func(x, y uint8) int { return max(int(x)-int(y), int(y)-int(x)) }
	return max(d(a.R, b.R), d(a.G, b.G), d(a.B, b.B))
}

// meanOver returns the mean of a curve over a to b nm, NaN where it covers none
// of that.
func meanOver(nm, values []float64, a, b float64) float64 {
	a, b = max(a, nm[0]), min(b, nm[len(nm)-1])
	if b <= a {
		return math.NaN()
	}
	sum, x, y := 0.0, a, valueAt(nm, values, a)
	for i := 0; i <= len(nm); i++ {
		var nx, ny float64
		if i < len(nm) && nm[i] < b {
			if nm[i] <= a {
				continue
			}
			nx, ny = nm[i], values[i]
		} else {
			nx, ny = b, valueAt(nm, values, b)
		}
		sum += (nx - x) * (y + ny) / 2
		x, y = nx, ny
		if x == b {
			break
		}
	}
	return sum / (b - a)
}

// dim returns a colour at a share of its light, not darker than the strip's
// ground (transfer function of IEC 61966-2-1).
func dim(c color.NRGBA, share float64) color.NRGBA {
	channel := func(v, ground uint8) uint8 {
		return max(eightBits(decode(v)*share), ground)
	}
	return color.NRGBA{channel(c.R, stripGround.R), channel(c.G, stripGround.G), channel(c.B, stripGround.B), 255}
}

// decode and encode are the sRGB transfer function and its inverse.
func decode(v uint8) float64 {
	x := float64(v) / 255
	if x <= 0.04045 {
		return x / 12.92
	}
	return math.Pow((x+0.055)/1.055, 2.4)
}

func encode(x float64) float64 {
	switch {
	case x <= 0:
		return 0
	case x >= 1:
		return 1
	case x <= 0.0031308:
		return 12.92 * x
	}
	return 1.055*math.Pow(x, 1/2.4) - 0.055
}
