package calibration

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Recording is the spectrum of a line lamp on raw pixels.
type Recording struct {
	Name    string // what messages call it: a file name
	Lamp    Lamp
	Counts  []float64 // dark-corrected, one a pixel
	Clipped []bool    // saturated pixels, see [ClipMask]; nil where none
}

// AnchorLine is one row of the residual table: a peak, the line it was taken
// for, and what the fit says of it.
type AnchorLine struct {
	Recording   string  `json:"recording"`
	Line        string  `json:"line"`            // "Hg I 435.834"
	Nm          float64 `json:"nm"`              // intensity-weighted place of unresolved lines
	UNm         float64 `json:"u_nm"`            // of place and centre together
	Pixel       float64 `json:"pixel"`           // fitted centre
	FWHMNm      float64 `json:"fwhm_nm"`         // as seen
	ResidualNm  float64 `json:"residual_nm"`     // line minus fit
	ResidualPx  float64 `json:"residual_px"`     //
	HeldOutNm   float64 `json:"held_out_nm"`     // line minus the fit made without it
	Used        bool    `json:"used"`            // took part in the fit
	Why         string  `json:"why,omitempty"`   // it did not
	Given       bool    `json:"given,omitempty"` // by somebody, see [GivenPair]
	members     []Line
	contradicts bool // the rest, so that it would not be used had it not been given
}

// Why a line was not used.
const (
	saturatedLine     = "saturated"
	contradictingLine = "too wide for one line, or contradicts the others"
)

// Bandwidth is the instrument's width (FWHM, nm) as a straight line over
// wavelength: AtMiddle at the middle wavelength and Slope per nm from there.
type Bandwidth struct {
	MiddleNm   float64 `json:"middle_nm"`
	AtMiddleNm float64 `json:"fwhm_nm"`
	Slope      float64 `json:"slope"`
	Lines      int     `json:"lines"` // how many isolated lines it rests on; 0: unknown
}

// At returns the bandwidth in nm at a wavelength in nm.
func (b Bandwidth) At(nm float64) float64 { return b.AtMiddleNm + b.Slope*(nm-b.MiddleNm) }

// Wavelength is a wavelength calibration.
type Wavelength struct {
	Dispersion Dispersion `json:"dispersion"`
	Law        string     `json:"law"` // the model chosen, in words
	// Laws are all that were tried, the simplest first.
	Laws  []LawError   `json:"laws,omitempty"`
	Lines []AnchorLine `json:"lines"`
	// FromNm and ToNm are the outermost lines used. Beyond them the axis is
	// extrapolated.
	FromNm float64 `json:"from_nm"`
	ToNm   float64 `json:"to_nm"`
	// ResidualNm and HeldOutNm are root mean squares over the lines used,
	// weighted as the fit was.
	ResidualNm float64 `json:"residual_nm"`
	HeldOutNm  float64 `json:"held_out_nm"`
	// UNm is the standard uncertainty of the axis from the scatter of the
	// lines, the largest between the outermost ones. What the day does to the
	// instrument comes on top.
	UNm       float64   `json:"u_nm"`
	Bandwidth Bandwidth `json:"bandwidth"`
	// Confident tells that the pairing of peaks and lines beat every other one
	// clearly. Where it is false Doubts says why, and the axis must not be used
	// before somebody has looked at the table.
	Confident bool     `json:"confident"`
	Doubts    []string `json:"doubts,omitempty"`
	// Score is the pairing's log-likelihood against chance, and Margin by how
	// much that exceeds the next best pairing's.
	Score  float64 `json:"score"`
	Margin float64 `json:"margin"`
	// PeaksExplained and LinesExplained are the weighted shares of peaks that
	// have a line and of the lamps' lines in range that have a peak.
	PeaksExplained float64 `json:"peaks_explained"`
	LinesExplained float64 `json:"lines_explained"`
	// Unexplained are the wavelengths of tall peaks at no line of the lamp.
	Unexplained []float64 `json:"unexplained_nm,omitempty"`
}

// CalibrateWavelength finds the wavelength axis from recordings of line lamps
// made by one instrument in one state. Peaks are fitted, paired with lines by
// search, and a dispersion law is chosen by its error at lines it has not seen.
//
// A pairing that is not clearly the best comes back with Confident false. An
// error says that there is nothing to look at: recordings that do not belong
// together, a saturated or line-less recording, a sensor read backwards, lines
// that are clearly another lamp's, or given pairs that cannot be.
func CalibrateWavelength(recordings []Recording, expected Expected) (*Wavelength, error) {
	s, err := newSearch(recordings, expected)
	if err != nil {
		return nil, err
	}
	w := s.calibrate(recordings)
	if w == nil && expected.Law != "" {
		free := expected
		free.Law = ""
		if other, err := CalibrateWavelength(recordings, free); err == nil {
			return nil, fmt.Errorf("calibration: %d lines are too few for the %s asked for: record a lamp with more lines, or leave the law open", len(other.Lines), expected.Law)
		}
	}
	if w.convinces() {
		return w, nil
	}
	if len(s.given) > 0 {
		return s.explainGiven(recordings, w)
	}
	if err := s.diagnose(recordings, w); err != nil {
		return nil, err
	}
	if w == nil {
		return nil, fmt.Errorf("calibration: no arrangement of the lamp's lines fits the peaks: name the lamp and the instrument's nominal range, or record a lamp with more lines")
	}
	return w, nil
}

func newSearch(recordings []Recording, expected Expected) (*search, error) {
	if len(recordings) == 0 {
		return nil, fmt.Errorf("calibration: no recording of a line lamp was given")
	}
	s := &search{pixels: len(recordings[0].Counts), expected: expected}
	for i := range recordings {
		r := &recordings[i]
		if len(r.Counts) != s.pixels {
			return nil, fmt.Errorf("calibration: %s has %d pixels but %s has %d: they are not from one instrument",
				r.Name, len(r.Counts), recordings[0].Name, s.pixels)
		}
		for p, c := range r.Counts {
			if math.IsNaN(c) || math.IsInf(c, 0) {
				return nil, fmt.Errorf("calibration: %s: pixel %d is not a finite number", r.Name, p)
			}
		}
		peaks := FindPeaks(r.Counts, r.Clipped)
		if err := usable(r, peaks); err != nil {
			return nil, err
		}
		s.sights = append(s.sights, newSight(&r.Lamp, peaks))
	}
	return s, s.take(recordings, expected.Given)
}

// usable refuses recordings that cannot anchor anything.
func usable(r *Recording, peaks []Peak) error {
	lines, cut := 0, 0
	for _, p := range peaks {
		if !p.Broad && !p.Saturated {
			lines++
		}
	}
	for i, c := range r.Clipped {
		if c && (i == 0 || !r.Clipped[i-1]) {
			cut++
		}
	}
	switch {
	case cut > lines:
		return fmt.Errorf("calibration: %s is saturated: it is clipped in %d places and has %d sound lines, and the centre of a clipped line is unknown: shorten the exposure and record the lamp again", r.Name, cut, lines)
	case lines < 2:
		return fmt.Errorf("calibration: %s shows no lines: is it the recording of a filament lamp instead of %s?", r.Name, r.Lamp.Name)
	}
	return nil
}

// calibrate runs search and fit; nil where no hypothesis survives.
func (s *search) calibrate(recordings []Recording) *Wavelength {
	found, ok := s.solve()
	if !ok {
		return nil
	}
	best := &found.best
	middle := float64(s.pixels-1) / 2
	tol := s.fineTolerance(best)
	pairs := s.pairs(func(p float64) float64 { return best.at(s.x(p)) }, best.c[1]/middle, tol, 4)
	f, used, ok := s.fitPairs(pairs, func(p float64) float64 { return best.slope(s.x(p)) / middle })
	if ok { // once more, with the lines that the better axis reaches
		d := f.dispersion
		again := s.pairs(d.At, best.c[1]/middle, min(tol, max(0.5*tol, f.heldRMS)), 4)
		if g, u, ok := s.fitPairs(again, d.Slope); ok && len(again) >= len(pairs) {
			f, pairs, used = g, again, u
		}
	}
	if !ok {
		return nil
	}
	w := &Wavelength{Dispersion: f.dispersion, Law: f.name, Laws: f.laws, HeldOutNm: f.heldRMS, Score: best.score, Margin: found.margin}
	if w.Dispersion.Check() != nil {
		return nil
	}
	s.table(w, recordings, pairs, used, &f)
	w.Bandwidth = bandwidthOf(w.Lines)
	s.judge(w, pairs, &found)
	return w
}

// ties returns what pairs say, centre and place with their uncertainties, and
// which peaks are too wide for a single line.
func (s *search) ties(pairs []pair, slope func(pixel float64) float64) (all []tie, wide []bool) {
	widths := make([]float64, len(pairs))
	for i, p := range pairs {
		peak := &s.sights[p.sight].peaks[p.peak]
		widths[i] = peak.FWHM * slope(peak.Pixel)
	}
	typical := quantile(widths, 0.4)
	all, wide = make([]tie, len(pairs)), make([]bool, len(pairs))
	for i, p := range pairs {
		peak := &s.sights[p.sight].peaks[p.peak]
		// A hundredth of a pixel is what unlike pixels leave of any centre. A
		// peak wider than the others has unknown company, which has moved it
		// by some part of what it has widened it.
		excess := max(0, widths[i]-1.08*typical) / 4
		u := math.Hypot(math.Hypot(peak.U, 0.01)*slope(peak.Pixel), math.Hypot(p.feature.u, excess))
		all[i] = tie{peak.Pixel, p.feature.nm, u, p.given}
		wide[i] = widths[i] > 1.5*typical
	}
	return all, wide
}

// fitPairs chooses a dispersion and sets aside, one by one, what contradicts
// the rest and was not given; used[i] tells which pairs took part. A sharp line with unseen company
// is precisely wrong, and one of those could outweigh all that is right, so no
// line counts as better known than a twentieth of the bandwidth while the worst
// are sought, and than a two-hundredth in the end.
func (s *search) fitPairs(pairs []pair, slope func(pixel float64) float64) (f fitted, used []bool, ok bool) {
	ties, wide := s.ties(pairs, slope)
	used = make([]bool, len(pairs))
	for i, p := range pairs {
		used[i] = p.given || !s.sights[p.sight].peaks[p.peak].Saturated && !(wide[i] && len(p.feature.lines) == 1)
	}
	bandwidth := s.bandwidthNm(slope(float64(s.pixels) / 2))
	var in []tie
	for _, floor := range []float64{bandwidth / 20, bandwidth / 200} {
		for {
			in = in[:0]
			var at []int
			for i, t := range ties {
				if used[i] {
					t.u = math.Hypot(t.u, floor)
					in, at = append(in, t), append(at, i)
				}
			}
			if f, ok = chooseDispersion(s.pixels, in, s.expected.Law); !ok {
				return f, used, false
			}
			worst, out := f.outlier(in)
			if !out || len(in) <= leastLines || 3*len(in) <= 2*len(pairs) {
				break
			}
			used[at[worst]] = false
		}
	}
	f.accuse(in, bandwidth/20)
	return f, used, true
}

// table writes the residual table and the range.
func (s *search) table(w *Wavelength, recordings []Recording, pairs []pair, used []bool, f *fitted) {
	d := &w.Dispersion
	w.FromNm, w.ToNm = math.Inf(1), math.Inf(-1)
	k := 0
	var sum, weights float64
	for i, p := range pairs {
		peak := &s.sights[p.sight].peaks[p.peak]
		slope := d.Slope(peak.Pixel)
		row := AnchorLine{
			Recording: recordings[p.sight].Name, Line: p.feature.name(), Nm: p.feature.nm,
			UNm: math.Hypot(peak.U*slope, p.feature.u), Pixel: peak.Pixel, FWHMNm: peak.FWHM * slope,
			ResidualNm: p.feature.nm - d.At(peak.Pixel), Used: used[i], Given: p.given, members: p.feature.lines,
		}
		row.ResidualPx = row.ResidualNm / slope
		row.HeldOutNm = row.ResidualNm
		switch {
		case used[i]:
			row.HeldOutNm, row.contradicts = f.heldOut[k], f.against[k]
			k++
			w.FromNm, w.ToNm = min(w.FromNm, row.Nm), max(w.ToNm, row.Nm)
			weight := 1 / math.Pow(math.Hypot(row.UNm, 0.01*slope), 2)
			sum += weight * row.ResidualNm * row.ResidualNm
			weights += weight
		case peak.Saturated:
			row.Why = saturatedLine
		default:
			row.Why = contradictingLine
		}
		w.Lines = append(w.Lines, row)
	}
	w.ResidualNm = math.Sqrt(sum / weights)
	first, last := d.PixelAt(w.FromNm), d.PixelAt(w.ToNm)
	for k := range 17 {
		w.UNm = max(w.UNm, f.u(first+(last-first)*float64(k)/16))
	}
	slices.SortFunc(w.Lines, func(a, b AnchorLine) int { return cmp.Compare(a.Nm, b.Nm) })
}

// bandwidthOf lays a straight line through the widths of isolated lines, with
// the widest quarter left out: a line can only look wider than it is.
func bandwidthOf(lines []AnchorLine) Bandwidth {
	var widths []float64
	for _, l := range lines {
		if l.Used && len(l.members) == 1 {
			widths = append(widths, l.FWHMNm)
		}
	}
	if len(widths) == 0 {
		return Bandwidth{}
	}
	limit := 1.3 * quantile(widths, 0.5)
	var b Bandwidth
	var basis [][]float64
	var y, weight []float64
	for _, l := range lines {
		if l.Used && len(l.members) == 1 && l.FWHMNm <= limit {
			b.MiddleNm += l.Nm
			y = append(y, l.FWHMNm)
			// A width is known about as well as a centre.
			weight = append(weight, 1/(l.UNm*l.UNm+1e-4*l.FWHMNm*l.FWHMNm))
			basis = append(basis, []float64{1, l.Nm})
		}
	}
	b.Lines = len(y)
	b.MiddleNm /= float64(len(y))
	for i := range basis {
		basis[i][1] -= b.MiddleNm
	}
	if fit, ok := solveLinear(basis, y, weight); ok && len(y) >= 4 {
		b.AtMiddleNm, b.Slope = fit.coef[0], fit.coef[1]
	} else {
		b.AtMiddleNm = quantile(y, 0.5)
	}
	return b
}
