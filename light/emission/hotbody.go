package emission

import (
	"math"

	"lampassay/light/standards"
)

// hotBody is a Planck curve fitted to a spectrum.
type hotBody struct {
	kelvin float64
	scale  float64 // of [standards.Planck]
	misfit float64 // root mean square of the logarithm of the ratio
}

func (h *hotBody) at(nm float64) float64 { return h.scale * standards.Planck(nm, h.kelvin) }

// fitHotBody fits Planck's law to the bins within [from, to] for which use
// returns true. In ln(S λ⁵) against 1/λ Wien's law is a straight line of slope
// −c₂/T; the factor that makes it Planck's is put in by iteration. A bin counts
// by how well its logarithm is known: 2 %, its noise, and a hundredth of the
// largest for stray light. ok is false where a third of the bins is not clearly
// positive, or the slope is not that of a temperature.
func fitHotBody(bins []bin, from, to float64, use func(nm float64) bool) (h hotBody, ok bool) {
	top := 0.0
	for _, b := range bins {
		if b.nm >= from && b.nm <= to {
			top = max(top, b.value)
		}
	}
	var buffer [bandBins]struct{ nm, x, y, w float64 }
	points := buffer[:0]
	dark := 0
	for _, b := range bins {
		if b.nm < from || b.nm > to || (use != nil && !use(b.nm)) || len(points) == cap(points) {
			continue
		}
		if b.value <= 2*b.sd {
			dark++
			continue
		}
		noise, stray := b.sd/b.value, 0.01*top/b.value
		points = append(points, struct{ nm, x, y, w float64 }{b.nm, 1e3 / b.nm,
			math.Log(b.value) + 5*math.Log(b.nm), 1 / (4e-4 + noise*noise + stray*stray)})
	}
	if len(points) < 8 || 2*dark > len(points) {
		return h, false
	}
	h.kelvin = 1 // no correction in the first round
	for range 5 {
		var sw, sx, sy, sxx, sxy, syy float64
		for _, p := range points {
			y := p.y
			if z := standards.C2 / (p.nm * 1e-9 * h.kelvin); z < 14 { // else below 10⁻⁶
				y += math.Log1p(-math.Exp(-z))
			}
			sw += p.w
			sx += p.w * p.x
			sy += p.w * y
			sxx += p.w * p.x * p.x
			sxy += p.w * p.x * y
			syy += p.w * y * y
		}
		slope := (sw*sxy - sx*sy) / (sw*sxx - sx*sx)
		if slope >= 0 {
			return h, false
		}
		intercept := (sy - slope*sx) / sw
		before := h.kelvin
		h.kelvin = -standards.C2 * 1e6 / slope
		h.misfit = math.Sqrt(max(0, (syy-slope*sxy-intercept*sy)/sw))
		// With λ in nm the intercept is ln(scale · C₁ · 10³⁶): C₁ λ⁻⁵ per metre
		// is C₁·10⁴⁵ λ⁻⁵ with λ in nm, and 10⁻⁹ of that per nanometre.
		h.scale = math.Exp(intercept) * 1e-36 / standards.C1
		if math.Abs(h.kelvin-before) < 0.1 {
			break
		}
	}
	return h, h.kelvin > 500 && h.kelvin < 40000
}

func filament(p *portrait) candidate {
	c := candidate{key: FamilyIncandescent, name: "incandescent filament"}
	hot, ok := p.hot, p.isHot
	if !p.glows {
		return c
	}
	// Salt in a flame adds lines of the alkalis and nothing else.
	salt := p.share["Na I"] + p.share["K I"]
	if p.atoms-salt > 0.3 {
		return c
	}
	from, to := 420.0, 720.0
	if salted := salt > 0.02 && !p.reversedD; salted || !ok {
		bins := p.bins
		if salted {
			bins = p.under
		}
		if h, good := p.fitHot(bins, from, to, nil); good && (!ok || h.misfit < hot.misfit) {
			hot, ok = h, true
		}
		for _, cool := range [...]float64{520, 590} { // a cool body may have nothing above the noise in the blue
			if ok && hot.misfit < 0.06 {
				break
			}
			if h, good := p.fitHot(bins, cool, to, nil); good && h.kelvin < 2150 && (!ok || h.misfit < hot.misfit) {
				hot, ok, from = h, true, cool
			}
		}
	}
	neodymium, mirror := false, false
	if !ok || hot.misfit > 0.05 {
		// Neodymium glass takes out the yellow and a little green.
		if h, good := p.fitHot(p.bins, from, to, func(nm float64) bool {
			return (nm < 505 || nm > 545) && (nm < 560 || nm > 615)
		}); good && h.misfit < 0.6*hot.misfit && h.misfit < 0.08 && p.t.mean(575, 588) < 0.75*h.at(581) {
			hot, ok, neodymium = h, true, true
		}
	}
	if !ok || hot.misfit > 0.05 && !neodymium {
		if h, good := p.fitMirror(); good {
			hot, ok, mirror, to = h, true, true, mirrorTo
		}
	}
	if !ok {
		return c
	}
	c.score = ramp(hot.misfit, 0.16, 0.06) * ramp(hot.kelvin, 4300, 3700) * ramp(hot.kelvin, 900, 1200) *
		ramp(p.atoms-salt, 0.3, 0.1) * ramp(salt, 0.8, 0.6) * (1 - ramp(p.oxygen(), 0.08, 0.2))
	c.because("from %.0f to %.0f nm a Planck curve of %.0f K fits within %.1f %% (root mean square)", from, to, hot.kelvin, 100*hot.misfit)
	switch {
	case hot.kelvin < 2150:
		c.key, c.name = FamilyFlame, "flame, or a filament run far below its rating"
		c.because("glowing soot has 1800–2100 K; a filament has less only when dimmed")
	case hot.kelvin < 2880:
		c.because("below about 2900 K: an ordinary filament, or a halogen lamp that is dimmed or rated low")
	default:
		c.key, c.name = FamilyHalogen, "tungsten halogen"
		c.because("above about 2900 K an ordinary filament would not last")
	}
	if neodymium {
		c.name += ", neodymium glass"
		c.because("a gap near 580 nm that the glass takes out")
	}
	if mirror {
		c.name += ", cold-light mirror"
		c.because("beyond 640 nm the curve falls away from that, as before a mirror that lets heat through")
	}
	if salt > 0.02 {
		c.because("the lines of sodium or potassium are those of salt in a flame")
	}
	return c
}

// mirrorTo is the wavelength, nm, up to which a cold-light mirror sends all light
// forward.
const mirrorTo = 640

// fitMirror fits a filament before a cold-light mirror, which lets the deep red
// out at the back. A violet-pumped diode may look like that, but for its pump.
func (p *portrait) fitMirror() (hotBody, bool) {
	if p.mirrored == nil {
		h, ok := p.fitHot(p.bins, 420, mirrorTo, nil)
		if !ok {
			h.misfit = math.Inf(1)
		}
		p.mirrored = &h
	}
	h := *p.mirrored
	return h, h.misfit < 0.035 && h.kelvin > 2500 && p.t.mean(715, 730) < 0.85*h.at(722) &&
		!(p.t.mean(402, 416) > 1.4*h.at(409)+0.02*p.underTop)
}

// oxygen returns the depth of the telluric oxygen band at 760.5 nm.
func (p *portrait) oxygen() float64 {
	if p.t.coarse() || !p.t.covers(745, 778) {
		return 0
	}
	return max(0, p.dip(761, 751, 772, 1.5))
}

func daylight(p *portrait) candidate {
	c := candidate{key: FamilyDaylight, name: "daylight"}
	if !p.isHot || math.IsInf(p.daylight, 1) {
		return c
	}
	oxygen := p.oxygen()
	c.score = ramp(p.daylight, 0.11, 0.05) * max(ramp(p.hot.kelvin, 3700, 4400), ramp(oxygen, 0.08, 0.2)) *
		ramp(p.atoms+p.unexplained, 0.15, 0.05)
	group, _ := p.xenonGroup()
	c.score *= 1 - max(0.9*group, 0.6*ramp(p.has("Xe I"), 0.4, 0.5))
	c.because("the CIE daylight components fit within %.1f %% from 405 to 685 nm; the Planck curve nearest is %.0f K", 100*p.daylight, p.hot.kelvin)
	if oxygen > 0.08 {
		c.because("the oxygen of the atmosphere takes %s out at 760 nm", percent(oxygen))
	}
	return c
}
