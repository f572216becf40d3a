package emission

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// describe adds the bands, the family and the warnings to a result whose lines
// and elements are known.
func (r *Result) describe(t *trace, continuum []float64, reversed reversal, isReversed bool) {
	isReversed = isReversed && r.Element(sodiumArc.spectrum) != nil
	p := newPortrait(r, t, continuum, reversed, isReversed)
	discharge := p.atoms > 0.03 || p.has("Hg I") > 0
	if p.isHot && p.hot.misfit < 0.06 && p.atoms < 0.1 {
		r.Bands = []Band{p.hotBand()}
	} else if p.total > 0 {
		bins := t.bins(continuum)
		for i := range bins {
			bins[i].value -= p.floor
		}
		if discharge {
			// What is narrower than a few steps is no band here.
			bins = inPairs(bins)
		}
		for _, c := range t.fit.fitBands(bins) {
			// In a discharge a narrow remainder is what the line shape left, and
			// the humps of the sodium D lines are described below.
			if discharge && c.width < max(12, 2.5*t.bandwidth) || isReversed && c.centre > 570 && c.centre < 612 {
				continue
			}
			r.Bands = append(r.Bands, c.band(p.total))
		}
		if isReversed {
			r.Bands = append(r.Bands, p.reversedBand())
		}
	}
	r.Family = p.family()
	for i := range r.Bands {
		switch b := &r.Bands[i]; {
		case b.Name != "":
		case discharge:
			b.nameAmongLines(r.Family.hasPhosphor(), isReversed)
		default:
			b.nameAmongSolids()
		}
	}
	r.nameRedLine(p)
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

// byFamily is the score of an emitter that only the kind of lamp speaks for.
const byFamily = 0.6

// nameRedLine gives an unexplained line at 611 nm to the europium of the
// phosphor by which the lamp was called a three-band one. In a table at 5 nm its
// weaker groups are lost in other bands, and the pattern cannot decide.
func (r *Result) nameRedLine(p *portrait) {
	const europium = "Eu³⁺ (oxide)"
	if r.Family.Key != FamilyTriphosphor || r.Element(europium) != nil {
		return
	}
	for i := range r.Lines {
		if l := &r.Lines[i]; l.Emitter == "" && l.Centre > 608 && l.Centre < 616 {
			l.Emitter = europium
			l.Laboratory = []LaboratoryLine{{europium, 611.4}}
			r.Elements = append(r.Elements, Element{Symbol: "Eu³⁺", Spectrum: europium, Score: byFamily, Lines: []int{i}, Found: []float64{611.4},
				Reasons: []string{fmt.Sprintf("the line at %.1f nm stands %.1f times above its surroundings, as only europium does beside mercury in a lamp of three bands", l.Centre, p.narrowRed()),
					"its weaker groups are not found: the kind of lamp alone speaks for it"}})
			return
		}
	}
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

func (r *Result) warnOfSpikes(at []float64) {
	if len(at) == 0 {
		return
	}
	var places []string
	for _, nm := range at {
		places = append(places, fmt.Sprintf("%.1f", nm))
	}
	r.Warnings = append(r.Warnings, fmt.Sprintf("single samples stand out by themselves at %s nm, as no line does: taken for faulty pixels and left out", strings.Join(places, ", ")))
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
		add("the atomic lines read %s nm off (standard uncertainty %.2f nm): check the wavelength calibration", signed(r.Shift), r.ShiftU)
	}
	from, to := t.x[0], t.x[len(t.x)-1]
	if from > 400 || to < 700 {
		add("only %.0f–%.0f nm is covered: what makes this light may have its lines elsewhere", from, to)
	}
}
