package emission

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lampassay/light/spectrum"
)

// Moment is one spectrum of a series, at so many seconds from its start.
type Moment struct {
	Seconds  float64
	Spectrum *spectrum.Spectrum
}

// Timeline is how the emitters of a lamp rise and fall over a series.
type Timeline struct {
	Seconds []float64
	Results []*Result // one a moment
	Total   []float64 // integral of each spectrum over 200–1000 nm
	Tracks  []Track   // in the order in which they reach their height
	Events  []Event   // by time

	shift float64 // how much the axis reads too high, nm
}

// Track is the power in the lines of one emitter over the series.
type Track struct {
	Symbol, Spectrum string
	// Power is the integral of its lines above a straight local base, in the
	// spectrum's unit times nm, and PowerU its standard deviation from noise. It
	// is measured at every moment, found there or not, and can be negative.
	Power, PowerU []float64
	// Rise is when the power first passes half its largest value, Fall when it
	// last does so going down; seconds, NaN where it does not.
	Rise, Fall float64
}

// Event is something that happens once in a series.
type Event struct {
	Kind    string // one of the Event constants
	Seconds float64
	Text    string
}

// The kinds of event.
const (
	EventFirstLight = "first_light" // the first spectrum with anything above noise
	EventTakeover   = "takeover"    // another emitter's lines become the strongest
	EventLastChange = "last_change" // the last departure from the final state
)

// settled is the share of its final value within which a track counts as not
// changing any more (judgement; the resolution of this method is no better).
const settled = 0.05

// Follow analyses a series of at least two spectra in order of time and
// measures every emitter that was found at any moment throughout. Where two
// emitters have a feature in one place, it counts for the one that is not there
// while the other is at its strongest, less what the other had there then, in
// proportion to the other's own features: sodium's D lines, less the neon that
// stood in their place before. Where that cannot be told it counts for neither.
func Follow(moments []Moment, o Options) (*Timeline, error) {
	if len(moments) < 2 {
		return nil, fmt.Errorf("emission: a series needs at least two spectra")
	}
	tl := &Timeline{}
	var traces []*trace
	for i, m := range moments {
		if i > 0 && !(m.Seconds > moments[i-1].Seconds) {
			return nil, fmt.Errorf("emission: spectrum %d of the series, at %g s, does not follow its predecessor", i+1, m.Seconds)
		}
		r, err := Analyse(m.Spectrum, o)
		if err != nil {
			return nil, fmt.Errorf("%w (spectrum %d of the series)", err, i+1)
		}
		t, _, _ := newTrace(m.Spectrum)
		t.sigma = r.noiseWithin(m.Spectrum)
		t.bandwidth = r.Bandwidth
		traces = append(traces, t)
		tl.Seconds = append(tl.Seconds, m.Seconds)
		tl.Results = append(tl.Results, r)
		tl.Total = append(tl.Total, t.integral(searchFirst, searchLast))
	}
	// Bandwidth and shift are the instrument's and the same throughout: those of
	// the moments that show them.
	var widths, shifts []float64
	for _, r := range tl.Results {
		if r.BandwidthMeasured {
			widths = append(widths, r.Bandwidth)
		}
		if !math.IsNaN(r.Shift) {
			shifts = append(shifts, r.Shift)
		}
	}
	if len(shifts) > 0 {
		tl.shift = quantile(shifts, 0.5)
	}
	if len(widths) > 0 {
		w := quantile(widths, 0.5)
		for _, t := range traces {
			t.bandwidth = w
		}
	}
	own, contested := tl.windows(traces[0].bandwidth)
	for spectrum, windows := range own {
		tl.Tracks = append(tl.Tracks, tl.track(spectrum, windows, traces))
	}
	tl.addContested(contested, traces)
	for i := range tl.Tracks {
		tl.Tracks[i].findHalves(tl.Seconds)
	}
	slices.SortFunc(tl.Tracks, func(a, b Track) int {
		return cmp.Or(cmp.Compare(peakTime(&a), peakTime(&b)), cmp.Compare(a.Spectrum, b.Spectrum))
	})
	tl.findEvents(traces)
	return tl, nil
}

// noiseWithin returns the noise of the samples that are searched.
func (r *Result) noiseWithin(s *spectrum.Spectrum) []float64 {
	lo, _ := slices.BinarySearch(s.Axis(), searchFirst)
	hi, _ := slices.BinarySearch(s.Axis(), searchLast)
	return r.Noise[lo:hi]
}

type window struct{ from, to float64 }

// contest is a feature of one emitter in the place of another's.
type contest struct {
	window
	spectrum, rival string
}

// windows returns, for every emitter found at any moment, where its lines are
// measured, and the places where one other has a line as well.
func (tl *Timeline) windows(bandwidth float64) (own map[string][]window, contested []contest) {
	margin := max(1.2*bandwidth, 1.2)
	centres := map[string][]float64{}
	reversed := false
	for _, r := range tl.Results {
		for _, b := range r.Bands {
			reversed = reversed || b.Kind == KindReversedD
		}
		for i := range r.Elements {
			e := &r.Elements[i]
			if e.Score < 0.5 {
				continue
			}
			places := e.Found
			for _, l := range e.Lines {
				places = append(places[:len(places):len(places)], r.Lines[l].Centre-zeroIfNaN(r.Shift))
			}
			for _, nm := range places {
				known := func(c float64) bool { return math.Abs(c-nm) < margin }
				if !slices.ContainsFunc(centres[e.Spectrum], known) {
					centres[e.Spectrum] = append(centres[e.Spectrum], nm)
				}
			}
		}
	}
	own = map[string][]window{}
	for spectrum, list := range centres {
		own[spectrum] = nil // an emitter may have nothing but contested features
		for _, nm := range list {
			reach := margin
			if reversed && math.Abs(nm-sodiumD) < 1.5 {
				reach = 28 // the wings of the arc
			}
			at := window{nm - reach, nm + reach}
			var rivals []string
			for other, theirs := range centres {
				if other != spectrum && reach == margin &&
					slices.ContainsFunc(theirs, func(c float64) bool { return math.Abs(c-nm) < 2*margin+1 }) { // its foot is in the base
					rivals = append(rivals, other)
				}
			}
			switch len(rivals) {
			case 0:
				own[spectrum] = append(own[spectrum], at)
			case 1:
				contested = append(contested, contest{at, spectrum, rivals[0]})
			}
		}
	}
	slices.SortFunc(contested, func(a, b contest) int {
		return cmp.Or(cmp.Compare(a.spectrum, b.spectrum), cmp.Compare(a.from, b.from))
	})
	return own, contested
}

// addContested adds to the tracks what contested features say of the emitter that
// was not there while its rival was at its strongest.
func (tl *Timeline) addContested(contested []contest, traces []*trace) {
	find := func(spectrum string) *Track {
		return &tl.Tracks[slices.IndexFunc(tl.Tracks, func(t Track) bool { return t.Spectrum == spectrum })]
	}
	// What a rival has of its own is taken before anything is added.
	type course struct{ power, u []float64 }
	own := map[string]course{}
	for _, t := range tl.Tracks {
		own[t.Spectrum] = course{slices.Clone(t.Power), slices.Clone(t.PowerU)}
	}
	for _, c := range contested {
		t, rival := find(c.spectrum), own[c.rival]
		k := slices.Index(rival.power, slices.Max(rival.power))
		if rival.power[k] < 5*rival.u[k] {
			continue
		}
		if e := tl.Results[k].Element(c.spectrum); e != nil && e.Score >= 0.5 {
			continue
		}
		measure := func(i int) (v, u float64) {
			return traces[i].excess(c.from+tl.shift, c.to+tl.shift)
		}
		before, _ := measure(k)
		mine := own[c.spectrum].power
		if after, _ := measure(slices.Index(mine, slices.Max(mine))); after < before {
			continue // the rival's, in the main
		}
		ratio := before / rival.power[k] // below zero where the rival stands in the base only
		for i := range traces {
			v, u := measure(i)
			t.Power[i] += v - ratio*rival.power[i]
			t.PowerU[i] = math.Hypot(t.PowerU[i], math.Hypot(u, ratio*rival.u[i]))
		}
	}
}

// track measures one emitter at every moment.
func (tl *Timeline) track(spectrum string, windows []window, traces []*trace) Track {
	k := slices.IndexFunc(catalogue(), func(e emitter) bool { return e.spectrum == spectrum })
	tr := Track{Symbol: catalogue()[k].symbol, Spectrum: spectrum, Rise: math.NaN(), Fall: math.NaN()}
	for _, t := range traces {
		sum, variance := 0.0, 0.0
		for _, w := range windows {
			v, u := t.excess(w.from+tl.shift, w.to+tl.shift)
			sum += v
			variance += u * u
		}
		tr.Power = append(tr.Power, sum)
		tr.PowerU = append(tr.PowerU, math.Sqrt(variance))
	}
	return tr
}

// findHalves sets when the power passes half its largest value.
func (tr *Track) findHalves(seconds []float64) {
	half := slices.Max(tr.Power) / 2
	for i := 1; i < len(tr.Power); i++ {
		a, b := tr.Power[i-1], tr.Power[i]
		at := func() float64 {
			return seconds[i-1] + (seconds[i]-seconds[i-1])*(half-a)/(b-a)
		}
		if a < half && b >= half && math.IsNaN(tr.Rise) {
			tr.Rise = at()
		}
		if a >= half && b < half {
			tr.Fall = at()
		}
	}
}

// peakTime is the index of the moment of largest power.
func peakTime(t *Track) int {
	best := 0
	for i, v := range t.Power {
		if v > t.Power[best] {
			best = i
		}
	}
	return best
}

func (tl *Timeline) findEvents(traces []*trace) {
	add := func(kind string, seconds float64, format string, a ...any) {
		tl.Events = append(tl.Events, Event{kind, seconds, fmt.Sprintf(format, a...)})
	}
	first := slices.IndexFunc(traces, func(t *trace) bool {
		i := t.highest(searchFirst, searchLast)
		return t.y[i] > 8*t.sigma[i]
	})
	if first < 0 {
		return
	}
	what := "a continuum"
	if lead := tl.leader(first); lead >= 0 {
		what = "lines of " + tl.Tracks[lead].Symbol
	}
	add(EventFirstLight, tl.Seconds[first], "first light: %s", what)

	lead := tl.leader(first)
	for i := first + 1; i < len(traces); i++ {
		next := tl.leader(i)
		if next < 0 || next == lead {
			continue
		}
		if lead >= 0 {
			// Where the two cross, straight between the moments.
			a, b := &tl.Tracks[lead], &tl.Tracks[next]
			before, after := a.Power[i-1]-b.Power[i-1], a.Power[i]-b.Power[i]
			f := 1.0
			if before > after {
				f = min(max(before/(before-after), 0), 1)
			}
			add(EventTakeover, tl.Seconds[i-1]+f*(tl.Seconds[i]-tl.Seconds[i-1]),
				"lines of %s overtake those of %s", b.Symbol, a.Symbol)
		}
		lead = next
	}

	last, name := -1, ""
	n := len(traces) - 1
	changed := func(values []float64, u []float64, i int) bool {
		d := math.Abs(values[i] - values[n])
		noise := 0.0
		if u != nil {
			noise = 3 * math.Hypot(u[i], u[n])
		}
		return d > settled*slices.Max(values) && d > noise
	}
	for i := n - 1; i >= first && last < 0; i-- {
		if changed(tl.Total, nil, i) {
			last, name = i, "the total"
		}
		for k := range tl.Tracks {
			if changed(tl.Tracks[k].Power, tl.Tracks[k].PowerU, i) {
				last, name = i, "the power in lines of "+tl.Tracks[k].Symbol
			}
		}
	}
	if last >= 0 && last < n-1 {
		add(EventLastChange, tl.Seconds[last+1], "from here on %s stays within %.0f %% of its final value", name, 100*settled)
	}
	slices.SortStableFunc(tl.Events, func(a, b Event) int { return cmp.Compare(a.Seconds, b.Seconds) })
}

// leader returns the track with most power at a moment, −1 where none is five
// standard deviations above nothing.
func (tl *Timeline) leader(i int) int {
	best := -1
	for k := range tl.Tracks {
		t := &tl.Tracks[k]
		if t.Power[i] > 5*t.PowerU[i] && (best < 0 || t.Power[i] > tl.Tracks[best].Power[i]) {
			best = k
		}
	}
	return best
}

// excess returns what stands within [from, to] above the straight line between
// the levels at its two ends, and its standard deviation.
func (t *trace) excess(from, to float64) (area, u float64) {
	edge := max(1, 1.2*t.medianPitch())
	base := 0.5 * (t.mean(from-edge, from) + t.mean(to, to+edge))
	if math.IsNaN(base) {
		return 0, 0
	}
	lo, hi := t.span(from, to)
	variance := 0.0
	for i := lo; i < hi; i++ {
		area += (t.y[i] - base) * t.pitch[i]
		variance += t.sigma[i] * t.sigma[i] * t.pitch[i] * t.pitch[i]
	}
	// The base is a mean of about 2·edge/pitch samples and counts everywhere.
	k := min(max(lo, 0), len(t.sigma)-1)
	variance += t.sigma[k] * t.sigma[k] * (to - from) * (to - from) * t.pitch[k] / (2 * edge)
	return area, math.Sqrt(variance)
}
