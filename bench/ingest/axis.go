package ingest

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// sample is one row of a table that is used.
type sample struct {
	x    float64 // wavelength, or what the axis has
	v    float64
	line int
}

// What a wavelength of light can be, in nm: wide enough for every instrument,
// narrow enough to tell other units.
const (
	shortestNm = 50
	longestNm  = 5000
	tablesFrom = 200 // the published tables' own range
	tablesTo   = 1400
)

// convertAxis turns the axis into nanometres, as the options say. Where they
// say nothing, an axis that cannot be nanometres, or whose heading names
// another unit, is a Problem that offers the option.
//
// An axis of pixels takes its wavelengths from o.Axis.
func convertAxis(s []sample, o *Options, heading WavelengthUnit, r *Report) *Problem {
	if o.WavelengthUnit == AutoUnit && (heading == pixelUnit || heading == AutoUnit && countsPixels(s)) {
		return pixelsToNm(s, o.Axis, r)
	}
	low, high := s[0], s[0]
	for _, p := range s {
		if p.x < low.x {
			low = p
		}
		if p.x > high.x {
			high = p
		}
	}
	if o.WavelengthUnit == AutoUnit {
		if p := checkNanometres(low, high, heading); p != nil {
			return p
		}
	}
	if low.x <= 0 {
		return &Problem{Line: low.line, Found: fmt.Sprintf("a wavelength of %g", low.x), Want: "a wavelength is above zero"}
	}
	r.WavelengthUnit = Nanometre.String()
	if o.Axis != nil {
		r.warn("the file has wavelengths of its own: the calibration is not used")
	}
	switch o.WavelengthUnit {
	case AutoUnit, Nanometre:
		return nil
	case Angstrom:
		r.Conversion = "ångström to nm: divided by 10"
		for i := range s {
			s[i].x /= 10
		}
	case Micrometre:
		r.Conversion = "µm to nm: times 1000"
		for i := range s {
			s[i].x *= 1000
		}
	case Wavenumber, WavenumberDensity:
		r.Conversion = "cm⁻¹ in vacuum to nm in standard air"
		for i := range s {
			if o.WavelengthUnit == WavenumberDensity {
				// dσ = dλ·10⁷/λ², with λ = 10⁷/σ in vacuum.
				s[i].v *= s[i].x * s[i].x / 1e7
			}
			s[i].x = airFromWavenumber(s[i].x)
		}
		if o.WavelengthUnit == WavenumberDensity {
			r.Conversion += ", values from per cm⁻¹ to per nm"
		} else {
			r.warn("the values are taken as they are, per nanometre: if they are per cm⁻¹, choose that unit of wavelengths")
		}
	}
	r.WavelengthUnit = strings.TrimSuffix(o.WavelengthUnit.String(), "-density")
	return nil
}

// airFromWavenumber returns the wavelength in standard air, nm, of a wavenumber
// in vacuum, cm⁻¹. The refractive index is that of P. E. Ciddor, Applied Optics
// 35 (1996) 1566, equation 1: 15 °C, 101325 Pa, 450 ppm CO₂.
func airFromWavenumber(sigma float64) float64 {
	s2 := sigma * sigma / 1e8 // µm⁻²
	n := 1 + (5792105/(238.0185-s2)+167917/(57.362-s2))*1e-8
	return 1e7 / sigma / n
}

// checkNanometres says what an axis is when it cannot be nanometres.
func checkNanometres(low, high sample, heading WavelengthUnit) *Problem {
	option := func(units ...WavelengthUnit) string {
		var say []string
		for _, u := range units {
			say = append(say, "--wavelength-unit "+u.String())
		}
		return strings.Join(say, " or ")
	}
	ends := fmt.Sprintf("%g to %g", low.x, high.x)
	switch heading {
	case Angstrom, Micrometre:
		return &Problem{Found: fmt.Sprintf("a wavelength column headed in %s, %s", heading, ends), Want: "to convert it to nm say " + option(heading)}
	case Wavenumber:
		return &Problem{Found: "a column of wavenumbers, " + ends,
			Want: "to convert it to nm say " + option(Wavenumber) + ", or " + option(WavenumberDensity) + " where the values are per cm⁻¹"}
	}
	if low.x >= shortestNm && high.x <= longestNm && low.x < tablesTo && high.x > tablesFrom {
		return nil
	}
	found := "wavelengths from " + ends + ", which cannot be nanometres of light"
	switch {
	case low.x > 0.1 && high.x < shortestNm:
		return &Problem{Found: found, Want: "if they are micrometres say " + option(Micrometre)}
	case low.x >= 5000 && high.x > 15000:
		return &Problem{Found: found, Want: "if they are wavenumbers in cm⁻¹ say " + option(Wavenumber, WavenumberDensity)}
	case low.x >= 1000 && high.x <= 15000 && high.x > tablesTo:
		want := "if they are ångström say " + option(Angstrom)
		if low.x >= 7000 {
			want += ", if wavenumbers in cm⁻¹ " + option(Wavenumber, WavenumberDensity)
		}
		return &Problem{Found: found, Want: want}
	case low.x < shortestNm:
		return &Problem{Line: low.line, Found: fmt.Sprintf("%g where a wavelength in nm should be", low.x), Want: fmt.Sprintf("light is measured above %d nm", shortestNm)}
	}
	return &Problem{Found: found, Want: fmt.Sprintf("a spectrum of light has samples between %d and %d nm", tablesFrom, tablesTo)}
}

// order sorts samples by wavelength and merges those that agree.
func order(s []sample, r *Report) ([]sample, *Problem) {
	up, down := direction(s)
	switch {
	case down == 0:
	case up == 0:
		r.Reversed = true
		slices.Reverse(s)
	default:
		slices.SortStableFunc(s, func(a, b sample) int { return cmp.Compare(a.x, b.x) })
		r.Sorted = true
		r.warn("the rows were not in order of wavelength and have been sorted")
	}
	out := s[:1]
	for _, p := range s[1:] {
		last := out[len(out)-1]
		switch {
		case p.x > last.x:
			out = append(out, p)
		case p.v == last.v:
			r.Merged++
		default:
			a, b := last, p
			if a.line > b.line {
				a, b = b, a
			}
			first := fmt.Sprintf("line %d", a.line)
			if a.line == 0 {
				first = "the first"
			}
			return nil, &Problem{Line: b.line,
				Found: fmt.Sprintf("%g a second time, with the value %g where %s has %g", b.x, b.v, first, a.v),
				Want:  "a wavelength can have one value: remove the wrong row"}
		}
	}
	if r.Merged > 0 {
		r.warn(fmt.Sprintf("%s of a wavelength with the same value merged", count(r.Merged, "repetition")))
	}
	return out, nil
}

// settledAxis is the axis of several spectra.
type settledAxis struct {
	nm     []float64 // increasing
	place  []int     // of the file's samples on it
	factor []float64 // of the file's samples, by the conversion; nil where it is 1
}

// settleAxis converts and sorts the wavelengths of several spectra; each can
// occur once. The samples' values are to be 1.
func settleAxis(s []sample, o *Options, heading WavelengthUnit, r *Report) (a settledAxis, problem *Problem) {
	if problem := convertAxis(s, o, heading, r); problem != nil {
		return a, problem
	}
	order := make([]int, len(s))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(s[a].x, s[b].x) })
	up, down := direction(s)
	r.Reversed = up == 0 && down > 0
	if r.Sorted = up > 0 && down > 0; r.Sorted {
		r.warn("the wavelengths were not in order and have been sorted")
	}
	a.nm, a.place = make([]float64, len(s)), make([]int, len(s))
	if o.WavelengthUnit == WavenumberDensity {
		a.factor = make([]float64, len(s))
	}
	for place, i := range order {
		if place > 0 && s[i].x == a.nm[place-1] {
			return a, &Problem{Line: s[i].line, Found: fmt.Sprintf("%g a second time, after line %d", s[i].x, s[order[place-1]].line),
				Want: "in a table of several spectra a wavelength can occur once"}
		}
		a.nm[place], a.place[i] = s[i].x, place
		if a.factor != nil {
			a.factor[i] = s[i].v
		}
	}
	return a, nil
}

// direction counts the steps up and down.
func direction(s []sample) (up, down int) {
	for i := 1; i < len(s); i++ {
		switch {
		case s[i].x > s[i-1].x:
			up++
		case s[i].x < s[i-1].x:
			down++
		}
	}
	return up, down
}

// gaps lists the steps that are more than three times the median one.
func gaps(axis []float64) []Gap {
	if len(axis) < 4 {
		return nil
	}
	steps := make([]float64, len(axis)-1)
	for i := range steps {
		steps[i] = axis[i+1] - axis[i]
	}
	sorted := slices.Clone(steps)
	slices.Sort(sorted)
	usual := sorted[len(sorted)/2]
	var out []Gap
	for i, d := range steps {
		if d > 3*usual {
			out = append(out, Gap{axis[i], axis[i+1]})
		}
	}
	return out
}
