package emission

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Band is a broad feature: the emission of a semiconductor, a phosphor, a
// recombination continuum or a hot body.
type Band struct {
	Kind   string  // stable key, see the Kind constants
	Name   string  // what it most likely is
	Centre float64 // nm, of the largest value; for a hot body that of the curve in range
	Width  float64 // full width at half maximum, nm; NaN for a hot body
	Area   float64 // the spectrum's unit times nm
	Height float64 // the spectrum's unit
	// Share is Area as a share of the whole within 200–1000 nm.
	Share float64
	// Temperature is the fitted temperature of a hot body, K, NaN for others.
	Temperature float64
	Reasons     []string
}

// The kinds of band.
const (
	KindHotBody       = "hot_body"      // a Planck curve
	KindSemiconductor = "semiconductor" // the narrow band of a light-emitting diode
	KindBroad         = "phosphor"      // a phosphor or another continuum
	KindReversedD     = "reversed_d"    // sodium's resonance pair in a high-pressure arc
)

const (
	bandsMost   = 4
	bandBins    = 220
	bandBinNm   = 4.0
	bandLeast   = 0.03 // of the tallest
	shapeLimits = 0.025
)

// bin is the continuum averaged over a few nanometres.
type bin struct{ nm, value, sd float64 }

// bins reduces a curve to steps of about 4 nm.
func (t *trace) bins(y []float64) []bin {
	all := t.binRoom.take(int((t.x[len(y)-1]-t.x[0])/bandBinNm) + 2)[:0]
	for lo := 0; lo < len(y); {
		hi := lo
		var x, v, s float64
		for hi < len(y) && t.x[hi] < t.x[lo]+bandBinNm {
			x += t.x[hi]
			v += y[hi]
			s += t.sigma[hi] * t.sigma[hi]
			hi++
		}
		n := float64(hi - lo)
		all = append(all, bin{x / n, v / n, math.Sqrt(s) / n})
		lo = hi
	}
	return all
}

// inPairs averages the bins two by two; the last of an odd number stays out.
func inPairs(bins []bin) []bin {
	var all []bin
	for i := 1; i < len(bins); i += 2 {
		a, b := bins[i-1], bins[i]
		all = append(all, bin{(a.nm + b.nm) / 2, (a.value + b.value) / 2, math.Hypot(a.sd, b.sd) / 2})
	}
	return all
}

// component is a Gaussian in photon energy: what thermal broadening makes of
// the emission of a phosphor's ion or a semiconductor. On the wavelength axis it
// leans to the red.
type component struct{ height, centre, width float64 }

func (c *component) at(nm float64) float64 {
	return c.height * gaussians().at((c.centre*c.centre/nm-c.centre)/c.width)
}

// fitBands describes a continuum as a sum of at most bandsMost components.
func (f *leastSquares) fitBands(bins []bin) []component {
	top := 0.0
	for _, b := range bins {
		if b.value > top && b.value > 6*b.sd {
			top = b.value
		}
	}
	if top == 0 {
		return nil
	}
	rest := make([]float64, len(bins))
	for i, b := range bins {
		rest[i] = b.value
	}
	var all []component
	for len(all) < bandsMost {
		k := -1
		for i := range rest {
			if rest[i] > 6*bins[i].sd && (k < 0 || rest[i] > rest[k]) {
				k = i
			}
		}
		if k < 0 || rest[k] < 1.5*bandLeast*top {
			break
		}
		// The steeper flank tells the width of the component itself.
		half := rest[k] / 2
		left, right := math.Inf(1), math.Inf(1)
		for i := k; i >= 0; i-- {
			if rest[i] < half {
				left = bins[k].nm - bins[i].nm
				break
			}
		}
		for i := k; i < len(rest); i++ {
			if rest[i] < half {
				right = bins[i].nm - bins[k].nm
				break
			}
		}
		width := 2 * min(left, right, 100)
		all = append(all, component{rest[k], bins[k].nm, max(width, 8)})
		f.optimise(bins, all, top, 4) // near enough to see what is left
		for i, b := range bins {
			rest[i] = b.value
			for j := range all {
				rest[i] -= all[j].at(b.nm)
			}
		}
	}
	f.optimise(bins, all, top, 8)
	all = slices.DeleteFunc(all, func(c component) bool { return c.height < bandLeast*top })
	slices.SortFunc(all, func(a, b component) int { return cmp.Compare(a.centre, b.centre) })
	return all
}

// optimise improves the components by damped least squares, in so many rounds at
// most.
func (f *leastSquares) optimise(bins []bin, all []component, top float64, rounds int) {
	f.prepare(len(all), len(bins), false)
	for i, b := range bins {
		f.y[i] = b.value
		f.weight[i] = 1 / (b.sd*b.sd + shapeLimits*shapeLimits*(top*top*0.25+b.value*b.value))
	}
	chi2 := f.trialBands(bins, all)
	f.equate()
	lambda := 1e-2
	var buffer [bandsMost]component
	next := buffer[:len(all)]
	for range rounds {
		gain, ok := f.improve(lambda, 1e-12)
		if !ok || gain < 2e-3*chi2 {
			return
		}
		for k, c := range all {
			next[k] = component{
				height: min(max(c.height+f.step[3*k], 0), 2*top),
				centre: c.centre + min(max(f.step[3*k+1], -30), 30),
				width:  min(max(c.width*math.Exp(min(max(f.step[3*k+2], -0.5), 0.5)), 6), 250),
			}
		}
		c := f.trialBands(bins, next)
		if c > chi2 || math.IsNaN(c) {
			lambda *= 8
			if lambda > 1e5 {
				return
			}
			continue
		}
		copy(all, next)
		chi2 = c
		f.equate()
		lambda = max(lambda/8, 1e-5)
	}
}

// trialBands returns χ² of a sum of components and leaves residuals and
// derivatives by height, centre and ln width.
func (f *leastSquares) trialBands(bins []bin, all []component) float64 {
	clear(f.model)
	shape := gaussians()
	for k := range f.lines {
		c, l := &all[k], &f.lines[k]
		byHeight, byCentre, byWidth := l.by[0][:len(bins)], l.by[1][:len(bins)], l.by[2][:len(bins)]
		model := f.model[:len(bins)]
		l.lo, l.hi = 0, 0
		for i := range bins {
			u := (c.centre*c.centre/bins[i].nm - c.centre) / c.width
			if u > 2.2 { // shorter waves than it reaches
				l.lo, l.hi = i+1, i+1
				continue
			}
			if !(u >= -2.2) {
				break
			}
			g := shape.at(u)
			slope := -8 * math.Ln2 * u * g * c.height
			byHeight[i], byCentre[i], byWidth[i] = g, slope*(2*c.centre/bins[i].nm-1)/c.width, -slope*u
			model[i] += c.height * g
			l.hi = i + 1
		}
	}
	return f.misfit()
}

// band gives a component's figures; what it is depends on the lamp.
func (c *component) band(total float64) Band {
	b := Band{Kind: KindBroad, Centre: c.centre, Width: c.width, Height: c.height, Temperature: math.NaN()}
	// The area of a Gaussian in wavenumber on the wavelength axis, to second
	// order in width/centre.
	q := c.width / c.centre
	b.Area = c.height * c.width * areaFactor * (1 + 3*q*q/(8*math.Ln2))
	b.Share = b.Area / total
	b.Reasons = []string{fmt.Sprintf("maximum at %.0f nm, %.0f nm wide at half height", c.centre, c.width)}
	return b
}

func (b *Band) is(kind, name, why string) {
	b.Kind, b.Name = kind, name
	b.Reasons = append(b.Reasons, why)
}

// nameAmongSolids names a band of a source without a discharge.
func (b *Band) nameAmongSolids() {
	switch w, nm := b.Width, b.Centre; {
	case w < 0.6*thermalWidth(nm):
		b.is(KindBroad, "foot of lines", "narrower than any emission of a diode or a phosphor's band")
	case w < 45 && nm < 300:
		b.is(KindBroad, "narrow ultraviolet band: an excimer or a semiconductor", "narrow, but not a line")
	case w < 28 && nm < 400:
		b.is(KindSemiconductor, "aluminium-gallium-nitride or indium-gallium-nitride, near ultraviolet", "as narrow as the emission of a diode")
	case w < 40 && nm < 430:
		b.is(KindSemiconductor, "indium-gallium-nitride, violet", "as narrow as the emission of a diode, below 430 nm")
	case w < 40 && nm < 485:
		b.is(KindSemiconductor, "indium-gallium-nitride, blue: the pump of a white LED, or a blue one", "as narrow as the emission of a diode, 430–485 nm")
	case w < 50 && nm < 560:
		b.is(KindSemiconductor, "indium-gallium-nitride, green", "as narrow as the emission of a diode, 485–560 nm")
	case w < 45 && nm < 700:
		b.is(KindSemiconductor, "aluminium-gallium-indium-phosphide", "as narrow as the emission of a diode, 560–700 nm")
	case w < 60 && nm >= 700:
		b.is(KindSemiconductor, "aluminium-gallium-arsenide, far red or infrared", "as narrow as the emission of a diode, beyond 700 nm")
	case nm < 400:
		b.is(KindBroad, "ultraviolet phosphor or continuum", "below 400 nm and wider than a diode's emission")
	case nm < 510:
		b.is(KindBroad, "blue-green phosphor", "wider than a diode's emission, below 510 nm")
	case nm < 600 && w < 80:
		b.is(KindBroad, "green or yellow phosphor (divalent europium)", "wider than a diode's emission, narrower than cerium garnet")
	case nm < 600 && w < 170:
		b.is(KindBroad, "cerium garnet", "a wide band in the green or yellow")
	case nm >= 600 && nm < 690 && w < 130:
		b.is(KindBroad, "red nitride (divalent europium) or another red phosphor", "a band in the red wider than a diode's emission")
	default:
		b.is(KindBroad, "broad continuum", "wider than one phosphor's band")
	}
}

// nameAmongLines names a band beside the lines of a discharge, in which nothing
// is a semiconductor's. Only where mercury excites a phosphor is it one; in an
// arc of sodium or other metals it is what their pressure makes of their lines.
func (b *Band) nameAmongLines(phosphor, sodiumArc bool) {
	const near = 75 // nm: how far the wings of the D lines are a band of their own
	switch w, nm := b.Width, b.Centre; {
	case sodiumArc && math.Abs(nm-sodiumD) < near && w < 2*near:
		b.is(KindBroad, "wings of the sodium arc, or unresolved lines", "beside the broadened D lines at 589 nm")
	case w < 40 && !(phosphor && nm < 400):
		b.is(KindBroad, "unresolved lines", "narrower than a phosphor's band, wider than the instrument")
	case !phosphor:
		b.is(KindBroad, "arc continuum, or unresolved lines", "wide, in a discharge that has no phosphor")
	case nm < 400:
		b.is(KindBroad, "ultraviolet phosphor or continuum", "below 400 nm")
	case nm >= 435 && nm < 467 && w < 75:
		b.is(KindBroad, "divalent europium, blue", "the place and width of europium in an aluminate or a chlorophosphate")
	case nm < 515 && w >= 75 && w < 190:
		b.is(KindBroad, "antimony in halophosphate, or another blue-green phosphor", "a wide band near 480 nm")
	case nm >= 565 && nm < 605 && w < 100:
		b.is(KindBroad, "manganese in halophosphate, or unresolved lines", "a band near 580 nm")
	case nm >= 605 && nm < 700 && w < 150:
		b.is(KindBroad, "red phosphor, or unresolved lines", "a band in the red")
	default:
		b.is(KindBroad, "phosphor or arc continuum", "wide, without structure at this resolution")
	}
}
