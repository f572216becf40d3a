package emission

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// solidState is how far the spectrum is free of discharge lines and unlike a hot
// body's or daylight's.
func (p *portrait) solidState() float64 {
	if p.reversedD || p.mirror {
		return 0
	}
	smooth := 1.0 // neither a hot body nor daylight
	if p.isHot {
		smooth = ramp(p.hot.misfit, 0.05, 0.12)
	}
	smooth = min(smooth, ramp(p.daylight, 0.05, 0.1))
	// Diodes have no lines, though a coarse instrument may take a narrow band for
	// one.
	lines := 1 - ramp(p.unexplained, 0.08, 0.25)*ramp(float64(p.unexplainedN-p.bandLike), 2, 5)
	lines *= 1 - ramp(float64(p.clear), 5, 12)
	return smooth * lines * ramp(p.atoms, 0.12, 0.04) * (1 - 0.9*p.has("Hg I"))
}

func ledPhosphor(p *portrait) candidate {
	c := candidate{key: FamilyLEDPhosphor, name: "phosphor-converted LED"}
	solid := p.solidState()
	if solid == 0 || p.visible <= 0 {
		return c
	}
	long := p.integral(490, 780) / p.visible
	blue := p.integral(380, 490) / p.visible
	var pump *hill
	for i, h := range p.hills {
		if h.nm > 385 && h.nm < 490 && h.width < 45 && 2*p.shortHalf(&h) < 46 && (pump == nil || h.prominence > pump.prominence) {
			pump = &p.hills[i]
		}
	}
	if pump == nil { // no hill, but a shoulder of another band
		for _, b := range p.r.Bands {
			if b.Centre > 395 && b.Centre < 470 && b.Width < 30 && b.Height > 0.1*p.underTop {
				pump = &hill{nm: b.Centre, width: b.Width, height: b.Height, prominence: b.Height}
			}
		}
	}
	broad, narrow := p.broadAndNarrow()
	fluoride := p.has("Mn⁴⁺ (fluoride)")
	broad = max(broad, 0.6*fluoride)
	s := solid * ramp(long, 0.15, 0.35) * ramp(broad, 0.2, 0.4) * ramp(p.visible/p.total, 0.3, 0.5)
	hotlike := 0.0
	if p.isHot {
		hotlike = ramp(p.hot.misfit, 0.12, 0.05)
	}
	if pump == nil {
		s *= 0.75 * (1 - hotlike) * ramp(blue, 0.2, 0.08)
		c.because("one wide band and no discharge lines; the pump has been converted completely")
	} else {
		s *= max(1-hotlike, ramp(pump.prominence/pump.height, 0.05, 0.15))
		c.because("a narrow blue or violet band at %.0f nm, %.0f nm wide: the pump", pump.nm, pump.width)
		c.because("wide phosphor emission holds %s of the visible power; there are no discharge lines", percent(long))
	}
	if names, _ := p.diodes(); len(names) > 2 { // and nothing wide between them
		s *= 1 - 0.7*ramp(p.deepestValley(), 0.45, 0.25)
	}
	c.score = 0.97 * s
	var variety []string
	switch {
	case blue < 0.02:
		variety = append(variety, "coloured")
	case blue < 0.175:
		variety = append(variety, "warm")
	case blue < 0.27:
		variety = append(variety, "neutral")
	default:
		variety = append(variety, "cool")
	}
	c.because("%s of the visible power lies below 490 nm: %s", percent(blue), variety[0])
	deep := p.t.mean(645, 665) / p.t.mean(590, 610)
	switch {
	case fluoride > 0.5:
		variety = append(variety, "narrow red")
		c.because("the manganese-fluoride lines near 613, 631 and 635 nm")
	case narrow > 0.12 && pump != nil:
		variety = append(variety, "with a red LED")
		c.because("a red band as narrow as a diode's beside the phosphor")
	case deep > 0.8 || (pump != nil && pump.nm < 430 && deep > 0.65):
		variety = append(variety, "high colour rendering")
		c.because("deep red is strong: at 655 nm %s of the level at 600 nm", percent(deep))
	}
	if pump != nil && pump.nm < 430 {
		variety = append(variety, "violet-pumped")
	}
	c.name += ", " + strings.Join(variety, ", ")
	return c
}

// shortHalf is how far below a hill's top, nm, the curve has fallen to half of it
// towards short waves. Phosphors fill the other side of a pump.
func (p *portrait) shortHalf(h *hill) float64 {
	for i := len(p.bins) - 1; i > 0; i-- {
		a, b := p.bins[i-1], p.bins[i]
		if b.nm <= h.nm && a.value < h.height/2 && b.value >= h.height/2 {
			return h.nm - b.nm + (b.nm-a.nm)*(b.value-h.height/2)/(b.value-a.value)
		}
	}
	return 0 // cut off by the range
}

// broadAndNarrow returns the shares of the visible that lie in bands wider than
// a diode's and, beyond 560 nm, in bands as narrow as one.
func (p *portrait) broadAndNarrow() (broad, narrowRed float64) {
	for _, b := range p.r.Bands {
		if b.Centre < 400 || b.Centre > 760 {
			continue
		}
		share := b.Area / p.visible
		if b.Width >= 52 {
			broad += share
		} else if b.Centre > 600 && b.Width < 32 {
			narrowRed += share
		}
	}
	return broad, narrowRed
}

// diodes describes the visible hills that are as narrow as a diode's emission,
// and gives the share of total in those that are narrower.
func (p *portrait) diodes() (names []string, narrower float64) {
	for _, h := range p.hills {
		if h.nm < 380 || h.nm > 780 {
			continue
		}
		if h.width < 0.65*thermalWidth(h.nm) {
			narrower += p.t.integral(h.left, h.right) / p.total
		} else if h.width < 50 {
			names = append(names, fmt.Sprintf("%.0f nm (%.0f nm wide)", h.nm, h.width))
		}
	}
	return names, narrower
}

func ledMixed(p *portrait) candidate {
	c := candidate{key: FamilyLEDMixed, name: "colour-mixed LED"}
	solid := p.solidState()
	if solid == 0 {
		return c
	}
	names, narrow := p.diodes()
	n := len(names)
	broad, _ := p.broadAndNarrow()
	if n < 2 || n > 5 {
		return c
	}
	valleys := p.deepestValley()
	// Hills too narrow for a diode speak of lines.
	c.score = solid * (1 - p.has("Mn⁴⁺ (fluoride)")) * ramp(narrow, 0.15, 0.05)
	c.score *= ramp(broad, 0.85, 0.65)
	if n == 2 { // a pump and a red diode beside a phosphor look like that, too
		c.score *= 0.8 * ramp(broad, 0.75, 0.45) * ramp(valleys, 0.45, 0.25)
	}
	c.because("%d bands as narrow as diodes' emission: %s", n, strings.Join(names, ", "))
	c.because("between two of them the curve sinks to %s of the lower", percent(valleys))
	return c
}

// deepestValley returns the least valley between two neighbouring hills beyond
// 490 nm or across it, as a share of the lower hill; 1 where there is none.
func (p *portrait) deepestValley() float64 {
	deepest := 1.0
	for i := 1; i < len(p.hills); i++ {
		a, b := p.hills[i-1], p.hills[i]
		if b.nm < 560 {
			continue
		}
		low := math.Inf(1)
		for _, x := range p.bins {
			if x.nm > a.nm && x.nm < b.nm {
				low = min(low, x.value)
			}
		}
		deepest = min(deepest, low/min(a.height, b.height))
	}
	return deepest
}

func ledSingle(p *portrait) candidate {
	c := candidate{key: FamilyLEDSingle}
	solid := p.solidState()
	if solid == 0 {
		return c
	}
	names, _ := p.diodes()
	for _, h := range p.hills {
		for _, l := range p.r.Lines { // bins widen what is narrow
			if math.Abs(l.Centre-h.nm) < 3 && l.Area > 0.6*p.total {
				h.width = min(h.width, l.Width)
			}
		}
		thermal := thermalWidth(h.nm)
		// An infrared tail of stray light or noise does not make a second band.
		share := p.integral(h.nm-2*h.width, h.nm+2*h.width) / p.total
		limit := 45.0
		if h.nm > 480 && h.nm < 580 {
			limit = 50
		} else if h.nm > 760 {
			limit = 65
		}
		// A diode alone falls to nothing on both sides.
		lonely := ramp(h.prominence/h.height, 0.6, 0.85)
		s := solid * lonely * ramp(share, 0.7, 0.88) * ramp(h.width, 0.55*thermal, 0.85*thermal) * ramp(h.width, limit*1.3, limit)
		if len(names) > 1 { // another colour beside it
			s *= 0.5
		}
		if s <= c.score {
			continue
		}
		c.score, c.reasons, c.key = 0.97*s, nil, FamilyLEDSingle
		c.because("one band at %.0f nm, %.0f nm wide, holds %s of the power: wider than a line, as narrow as a diode's emission", h.nm, h.width, percent(share))
		switch {
		case h.nm < 400:
			c.key, c.name = FamilyLEDUltraviolet, "ultraviolet LED"
		case h.nm > 750:
			c.name = "infrared LED"
		default:
			c.name = colourName(h.nm) + " LED"
		}
	}
	return c
}

func colourName(nm float64) string {
	switch {
	case nm < 435:
		return "violet"
	case nm < 485:
		return "blue"
	case nm < 505:
		return "cyan"
	case nm < 565:
		return "green"
	case nm < 600:
		return "amber"
	case nm < 660:
		return "red"
	}
	return "deep red"
}

// thermalWidth returns the least full width at half maximum, nm, of spontaneous
// emission from a semiconductor at room temperature: 1.8 kT with kT = 25.9 meV,
// turned into wavelength by hc = 1239.84 eV nm.
func thermalWidth(nm float64) float64 { return 1.8 * 0.0259 / 1239.84 * nm * nm }

func laser(p *portrait) candidate {
	c := candidate{key: FamilyLaser, name: "laser"}
	if len(p.r.Lines) == 0 || p.t.coarse() {
		return c
	}
	strong := slices.MaxFunc(p.r.Lines, func(a, b Line) int { return cmp.Compare(a.Area, b.Area) })
	share := strong.Area / p.total
	thermal := thermalWidth(strong.Centre)
	c.score = 0.95 * ramp(share, 0.6, 0.85) * ramp(strong.Width, 0.75*thermal, 0.5*thermal)
	if e := p.r.Element(strong.Emitter); e != nil {
		if len(e.Found) > 1 {
			c.score *= 0.3
		} else {
			c.score *= 1 - 0.6*e.Score
		}
		if strong.Emitter == "Na I" || strong.Emitter == "Hg I" {
			c.score *= 0.3
		}
	}
	c.because("%s of the power is in one line at %.1f nm, %.1f nm wide; the spontaneous emission of a diode cannot be narrower than about %.0f nm there", percent(share), strong.Centre, strong.Width, thermal)
	if strong.Emitter == "" {
		c.because("no lamp's element has its only strong line there")
	}
	return c
}
