package emission

import (
	"fmt"
	"math"
	"slices"
)

// describe adds the bands, the family and the warnings to a result whose lines
// and elements are known.
func (r *Result) describe(t *trace, continuum []float64, reversed reversal, isReversed bool) {
	p := newPortrait(r, t, reversed, isReversed)
	if p.isHot && p.hot.misfit < 0.06 && p.atoms < 0.1 {
		r.Bands = []Band{p.hotBand()}
	} else if p.total > 0 {
		discharge := p.atoms > 0.03 || p.has("Hg I") > 0
		bins := t.bins(continuum)
		for i := range bins {
			bins[i].value -= p.floor
		}
		for _, c := range fitBands(bins) {
			// In a discharge a narrow remainder is what the line shape left, and
			// the humps of the sodium D lines are described below.
			if discharge && c.width < max(12, 2.5*t.bandwidth) || isReversed && c.centre > 570 && c.centre < 612 {
				continue
			}
			r.Bands = append(r.Bands, c.band(p.total, discharge))
		}
		if isReversed {
			r.Bands = append(r.Bands, p.reversedBand())
		}
	}
	r.Family = p.family()
	for i := range r.Elements {
		e := &r.Elements[i]
		if e.Spectrum == "Eu³⁺ (oxide)" && p.narrowRed() < 1.5 {
			e.Score = min(e.Score, patternless)
			e.Reasons = append(e.Reasons, "its band at 611 nm hardly stands out")
		}
		e.Role = role(e, r.Family.Key)
	}
	r.warn(p)
}

// role returns what an emitter does in a lamp of a family, as far as that is
// common knowledge of the trade.
func role(e *Element, family string) string {
	rare := slices.ContainsFunc(gasNames, func(g gasName) bool { return g.spectrum == e.Spectrum })
	switch {
	case e.Phosphor():
		return "phosphor"
	case rare && (family == FamilyRareGas || family == FamilyXenon):
		return "main emitter"
	case rare:
		return "buffer or starting gas"
	case family == FamilyHPS && e.Spectrum == "Hg I":
		return "buffer vapour from the amalgam"
	case family == FamilyHPS && e.Spectrum == "K I":
		return "impurity of the sodium"
	case family == FamilyMetalHalide && e.Spectrum == "Hg I":
		return "buffer vapour"
	case family == FamilyMetalHalide:
		return "halide fill"
	case family == FamilyFlame || family == FamilyIncandescent || family == FamilyHalogen || family == FamilyDaylight:
		return "trace"
	}
	return "main emitter"
}

// hotBand describes the whole continuum as one Planck curve.
func (p *portrait) hotBand() Band {
	name := "glowing body"
	switch {
	case p.hot.kelvin > 3600:
		name = "continuum near that of a blackbody"
	case p.hot.kelvin > 2150:
		name = "tungsten filament"
	}
	peak := p.bins[0]
	for _, b := range p.bins {
		if b.value > peak.value && b.value > 6*b.sd {
			peak = b
		}
	}
	return Band{Kind: KindHotBody, Name: name, Centre: peak.nm, Width: math.NaN(), Area: p.total, Height: peak.value,
		Share: 1, Temperature: p.hot.kelvin,
		Reasons: []string{fmt.Sprintf("a Planck curve of %.0f K fits within %.1f %% from 420 to 720 nm", p.hot.kelvin, 100*p.hot.misfit)}}
}

// reversedBand describes the sodium D region of a high-pressure arc.
func (p *portrait) reversedBand() Band {
	return Band{Kind: KindReversedD, Name: "sodium D lines of a high-pressure arc", Centre: p.reversed.dip,
		Width: p.reversed.red - p.reversed.blue, Area: p.reversed.power, Height: p.reversed.height,
		Share: p.reversed.power / p.total, Temperature: math.NaN(),
		Reasons: []string{p.reversed.words(), "the area is that of 560–620 nm"}}
}

func (r *Result) warn(p *portrait) {
	add := func(format string, a ...any) { r.Warnings = append(r.Warnings, fmt.Sprintf(format, a...)) }
	t := p.t
	if t.coarse() {
		add("the samples are %.1f nm apart: lines keep their place only within that, their width is the table's, and noise cannot be told from structure", t.medianPitch())
	} else if !t.measured {
		add("no line shows the instrument's bandwidth; %.1f nm is assumed from the step", t.bandwidth)
	}
	if !math.IsNaN(r.Shift) && math.Abs(r.Shift) > 2*r.ShiftU && math.Abs(r.Shift) > 0.15 {
		add("the atomic lines read %+.2f nm off (standard uncertainty %.2f nm): check the wavelength calibration", r.Shift, r.ShiftU)
	}
	from, to := t.x[0], t.x[len(t.x)-1]
	if from > 400 || to < 700 {
		add("only %.0f–%.0f nm is covered: what makes this light may have its lines elsewhere", from, to)
	}
}
