package calibration

import (
	"math"
	"math/rand/v2"
)

// simulated is an invented spectrometer: its true axis, its line shape and what
// it does to light.
type simulated struct {
	axis      []float64
	bandwidth float64 // nm
	noise     float64 // of one pixel, counts
}

// drawInstrument invents an instrument: 256–4096 pixels, quadratic or cubic
// dispersion, 0.5–8 nm bandwidth. No slit is imaged on less than 1.6 pixels:
// below that there is no sub-pixel place to find.
func drawInstrument(r *rand.Rand) simulated {
	pixels := int(256 * math.Pow(2, 4*r.Float64()))
	from := 190 + 210*r.Float64()
	to := from + 350 + 350*r.Float64()
	quadratic, cubic := 0.12*(2*r.Float64()-1), 0.0
	if r.IntN(2) == 0 {
		cubic = 0.03 * (2*r.Float64() - 1)
	}
	s := simulated{axis: make([]float64, pixels)}
	for p := range s.axis {
		x := 2*float64(p)/float64(pixels-1) - 1
		s.axis[p] = (from+to)/2 + (to-from)/2*(x*(1-cubic)+quadratic*(x*x-1)+cubic*x*x*x)
	}
	s.bandwidth = max(0.5*math.Pow(16, r.Float64()), 1.6*(to-from)/float64(pixels))
	s.noise = 10000 / math.Pow(10, 2+1.5*r.Float64())
	return s
}

func (s *simulated) slope(p int) float64 {
	p = min(max(p, 1), len(s.axis)-2)
	return (s.axis[p+1] - s.axis[p-1]) / 2
}

// pixelAt inverts the true axis.
func (s *simulated) pixelAt(nm float64) float64 {
	for p := 1; p < len(s.axis); p++ {
		if nm <= s.axis[p] {
			return float64(p-1) + (nm-s.axis[p-1])/(s.axis[p]-s.axis[p-1])
		}
	}
	return math.Inf(1)
}

// nmAt returns the true wavelength of a place.
func (s *simulated) nmAt(pixel float64) float64 {
	i := min(max(int(pixel), 0), len(s.axis)-2)
	return s.axis[i] + (pixel-float64(i))*(s.axis[i+1]-s.axis[i])
}

// addLine adds a line of given height (counts) at a wavelength within range.
func (s *simulated) addLine(counts []float64, nm, height float64) {
	at := s.pixelAt(nm)
	if nm < s.axis[0] || math.IsInf(at, 1) {
		return
	}
	width := s.bandwidth / s.slope(int(at))
	top := gaussPixel(0, width)
	for p := max(0, int(at-5*width)-2); p <= min(len(counts)-1, int(at+5*width)+2); p++ {
		counts[p] += height * gaussPixel(float64(p)-at, width) / top
	}
}

// silicon is an invented detector's response: a hill at 600 nm.
func silicon(nm float64) float64 {
	return 0.03 + math.Exp(-math.Pow((nm-600)/230, 2))
}

// lineLamp records a lamp with a share of its lines missing, the ratios of the
// rest off by a factor, and some peaks that belong to nothing.
func (s *simulated) lineLamp(r *rand.Rand, lamp Lamp, missing float64, spurious int, noise float64) Recording {
	counts := make([]float64, len(s.axis))
	tallest := 0.0
	for _, l := range lamp.Lines {
		height := math.Sqrt(l.Strength) * l.Strength * silicon(l.Nm) * math.Exp(0.7*r.NormFloat64())
		height = 10000 * math.Pow(height, 0.6)
		if gone := r.Float64() < missing; !gone {
			s.addLine(counts, l.Nm, height)
			if l.Nm > s.axis[0] && l.Nm < s.axis[len(s.axis)-1] {
				tallest = max(tallest, height)
			}
		}
	}
	for range spurious {
		at := s.axis[0] + r.Float64()*(s.axis[len(s.axis)-1]-s.axis[0])
		s.addLine(counts, at, tallest*0.03*math.Pow(20, r.Float64()))
	}
	for p := range counts {
		counts[p] += noise * math.Hypot(s.noise, math.Sqrt(max(counts[p], 0))) * r.NormFloat64()
	}
	return Recording{Name: lamp.Name, Lamp: lamp, Counts: counts}
}

func mustLamp(name string) Lamp {
	l, err := LampByName(name)
	if err != nil {
		panic(err)
	}
	return l
}

// anchors counts the lines that the instrument separates in its range.
func (s *simulated) anchors(lamps []string) int {
	n := 0
	for _, name := range lamps {
		l := mustLamp(name)
		for _, f := range l.features(s.bandwidth) {
			if !f.wide && f.nm > s.axis[0] && f.nm < s.axis[len(s.axis)-1] {
				n++
			}
		}
	}
	return n
}
