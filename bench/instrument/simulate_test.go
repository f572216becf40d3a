package instrument

import (
	"math"
	"math/rand/v2"
	"slices"

	"lampassay/light/calibration"
	"lampassay/light/standards"
)

// light is a spectral power distribution in arbitrary units per nm, and lines
// with their power.
type light struct {
	continuum func(nm float64) float64
	lines     map[float64]float64
}

// bad is an invented spectrometer with every fault this package corrects.
type bad struct {
	axis      []float64 // the truth
	claimed   []float64 // what its files say: offset and stretched
	bandwidth float64   // nm
	order     float64   // ghost over line, counts
	stray     float64   // of all light, spread over all pixels
	dark      float64   // counts
	darkPerMs float64
	read      float64 // noise, counts
	full      float64
	r         *rand.Rand
	gain      float64
}

func newBad() *bad {
	const pixels = 1024
	b := &bad{
		axis: make([]float64, pixels), claimed: make([]float64, pixels),
		bandwidth: 2, order: 0.03, stray: 0.01, dark: 900, darkPerMs: 0.4, read: 12, full: 65535,
		r: rand.New(rand.NewPCG(7, 7)), gain: 40,
	}
	for p := range b.axis {
		x := 2*float64(p)/(pixels-1) - 1
		b.axis[p] = 665 + 335*x + 22*(1-x*x) - 4*x*x*x
		b.claimed[p] = b.axis[p]*1.004 + 1.2
	}
	return b
}

// silicon is an invented detector with grating and fibre: weak at both ends.
func silicon(nm float64) float64 {
	return 0.02 + math.Exp(-math.Pow((nm-610)/190, 2))*(1+0.04*math.Sin(nm/23))
}

// ideal returns the counts per ms in first order, line shape and response in.
func (b *bad) ideal(l light) []float64 {
	out := make([]float64, len(b.axis))
	sigma := b.bandwidth / 2.354820045
	for p, nm := range b.axis {
		lo, hi := b.edge(p), b.edge(p+1)
		if l.continuum != nil {
			sum, weight := 0.0, 0.0
			for k := -10; k <= 10; k++ {
				z := float64(k) * 0.35
				g := math.Exp(-z * z / 2)
				at := nm + z*sigma
				sum += g * l.continuum(at) * silicon(at)
				weight += g
			}
			out[p] += sum / weight * (hi - lo)
		}
		for at, power := range l.lines {
			if math.Abs(nm-at) < 8*sigma {
				part := (math.Erf((hi-at)/sigma/math.Sqrt2) - math.Erf((lo-at)/sigma/math.Sqrt2)) / 2
				out[p] += power * silicon(at) * part
			}
		}
	}
	return out
}

func (b *bad) edge(p int) float64 {
	n := len(b.axis)
	switch {
	case p == 0:
		return b.axis[0] - (b.axis[1]-b.axis[0])/2
	case p == n:
		return b.axis[n-1] + (b.axis[n-1]-b.axis[n-2])/2
	}
	return (b.axis[p-1] + b.axis[p]) / 2
}

// rate adds second order and stray light.
func (b *bad) rate(l light) []float64 {
	out := b.ideal(l)
	first := slices.Clone(out)
	// The ghost of every pixel's light falls on twice its wavelength.
	for p, nm := range b.axis {
		at := 2 * nm
		if at > b.axis[len(b.axis)-1] {
			break
		}
		lo, hi := 2*b.edge(p), 2*b.edge(p+1)
		for q := range b.axis {
			if o := min(hi, b.edge(q+1)) - max(lo, b.edge(q)); o > 0 {
				out[q] += b.order * first[p] * o / (hi - lo)
			}
		}
	}
	sum := 0.0
	for _, v := range out {
		sum += v
	}
	for p := range out {
		out[p] += b.stray * sum / float64(len(out))
	}
	return out
}

// record returns n frames of one exposure; a nil light is a dark.
func (b *bad) record(rate []float64, exposureMs float64, n int) []calibration.Frame {
	frames := make([]calibration.Frame, n)
	for k := range frames {
		counts := make([]float64, len(b.axis))
		for p := range counts {
			c := 0.0
			if rate != nil {
				c = rate[p] * exposureMs
			}
			offset := b.dark + b.darkPerMs*exposureMs + 40*math.Sin(float64(p)/31)
			v := c + offset + b.r.NormFloat64()*math.Sqrt(b.read*b.read+max(c, 0)/4)
			counts[p] = math.Round(min(max(v, 0), b.full))
		}
		frames[k] = calibration.Frame{Counts: counts, ExposureMs: exposureMs}
	}
	return frames
}

// scaled returns the rate of a light such that its peak reaches a share of full
// scale at an exposure.
func (b *bad) scaled(l light, exposureMs, share float64) []float64 {
	rate := b.rate(l)
	k := share * b.full / exposureMs / slices.Max(rate)
	for p := range rate {
		rate[p] *= k
	}
	return rate
}

// measure records light and darks at given exposures.
func (b *bad) measure(rate []float64, n int, exposures ...float64) Measurement {
	var m Measurement
	for _, t := range exposures {
		m.Frames = append(m.Frames, b.record(rate, t, n)...)
		m.Darks = append(m.Darks, b.record(nil, t, n)...)
	}
	return m
}

// halogen is a filament of CCT 2856 K.
func halogen() light {
	t := calibration.FilamentTemperature(2856)
	return light{continuum: func(nm float64) float64 {
		return standards.Planck(nm, t) * calibration.Emissivity(nm, t) * 1e3
	}}
}

// behindLongPass cuts everything below an edge.
func behindLongPass(l light, edge float64) light {
	return light{continuum: func(nm float64) float64 {
		return l.continuum(nm) / (1 + math.Exp(-(nm-edge)/1.5))
	}}
}

// phosphorLED is an invented warm-white LED near 3000 K.
func phosphorLED(nm float64) float64 {
	blue := math.Exp(-4 * math.Ln2 * math.Pow((nm-452)/21, 2))
	width := 105.0
	if nm > 585 {
		width = 147
	}
	return 0.66*blue + math.Exp(-4*math.Ln2*math.Pow((nm-585)/width, 2))
}

// lineLamp is a lamp of known lines with invented strengths.
func lineLamp(name string) light {
	lamp, err := calibration.LampByName(name)
	if err != nil {
		panic(err)
	}
	l := light{lines: map[float64]float64{}}
	for _, line := range lamp.Lines {
		l.lines[line.Nm] = math.Pow(line.Strength, 0.8) / math.Sqrt(silicon(line.Nm))
	}
	return l
}
