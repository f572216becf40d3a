package webapp

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"time"

	"lampassay/assay/quantity"
	"lampassay/bench/live"
	"lampassay/bench/notebook"
	"lampassay/light/temporal"
)

// course is the numbers of a sitting over time, thinned for the eye.
type course struct {
	start     time.Time
	lines     []*line
	marks     []mark
	spectrumN int64 // the latest spectrum, 0 for none
	last      int64 // the latest reading seen
	// switchedOn is when the lamp was, last, as marked; nil where nobody marked it.
	switchedOn *float64
}

// line is one number of one channel.
type line struct {
	Channel string    `json:"channel"`
	Key     string    `json:"key"`
	Unit    string    `json:"unit"`
	Seconds []float64 `json:"seconds"`
	Values  []float64 `json:"values"`
	// Decimals are those that the register of quantities reads the value with; nil
	// for what an instrument said, whose digits are its own.
	Decimals *int `json:"decimals,omitempty"`
}

// decimalsOf are the decimals of what is computed from spectra, nil of anything else.
func decimalsOf(key string) *int {
	if key != live.CCTKey && key != live.DuvKey {
		return nil
	}
	def, err := quantity.ByKey(key)
	if err != nil {
		return nil
	}
	return &def.Decimals
}

// mark is an event on the time axis.
type mark struct {
	Seconds float64 `json:"seconds"`
	Text    string  `json:"text"`
}

// points is to how many readings a channel is thinned: about twice as many as a
// screen has columns.
const points = 2000

// course reads a sitting's numbers, without what was set aside.
func (s *Server) course(ctx context.Context, sit *notebook.Sitting) (*course, error) {
	tally, err := s.nb.Tally(ctx, sit.ID)
	if err != nil {
		return nil, err
	}
	c := &course{start: tally.From, last: tally.Readings}
	for reading, err := range s.nb.Readings(ctx, notebook.Readings{Sitting: sit.ID, Decimate: points, NoCurves: true}) {
		if err != nil {
			return nil, err
		}
		if sit.StruckOut(reading.N) == "" {
			c.add(reading)
		}
	}
	seen, err := s.sights(ctx, sit.ID, tally.Readings)
	if err != nil {
		return nil, err
	}
	for _, one := range seen {
		if sit.StruckOut(one.n) == "" {
			c.take(one.at.Sub(c.start).Seconds(), one.channel, one.values)
		}
	}
	for _, l := range c.lines {
		l.sort()
	}
	found, err := s.lastSpectrum(ctx, sit)
	if found != nil {
		c.spectrumN = found.N
	}
	return c, err
}

func (c *course) add(reading *notebook.Reading) {
	at := reading.At.Sub(c.start).Seconds()
	if reading.Curve != nil && reading.Curve.Axis != nil {
		c.spectrumN = max(c.spectrumN, reading.N)
	}
	c.take(at, reading.Channel, reading.Values)
	if live.IsSwitchOn(reading.Note) {
		c.switchedOn = &at
	}
	if reading.Note != "" && len(reading.Values) == 0 && (reading.Channel == channelMark || reading.Channel == channelBench) {
		c.marks = append(c.marks, mark{at, reading.Note})
	}
	for _, f := range reading.Flags {
		c.marks = append(c.marks, mark{at, reading.Channel + ": " + f})
	}
}

func (c *course) take(at float64, channel string, values []notebook.Value) {
	for _, v := range values {
		if v.V != nil && v.Flag == "" {
			l := c.line(channel, v.Key, v.Unit)
			l.Seconds, l.Values = append(l.Seconds, at), append(l.Values, *v.V)
		}
	}
}

func (c *course) line(channel, key, unit string) *line {
	for _, l := range c.lines {
		if l.Channel == channel && l.Key == key {
			return l
		}
	}
	l := &line{Channel: channel, Key: key, Unit: unit, Decimals: decimalsOf(key)}
	c.lines = append(c.lines, l)
	return l
}

// sort puts a line in the order of time and keeps the first of two readings at
// one moment.
func (l *line) sort() {
	order := make([]int, len(l.Seconds))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case l.Seconds[a] < l.Seconds[b]:
			return -1
		case l.Seconds[a] > l.Seconds[b]:
			return 1
		}
		return 0
	})
	seconds, values := make([]float64, 0, len(order)), make([]float64, 0, len(order))
	for _, i := range order {
		if n := len(seconds); n == 0 || l.Seconds[i] > seconds[n-1] {
			seconds, values = append(seconds, l.Seconds[i]), append(values, l.Values[i])
		}
	}
	l.Seconds, l.Values = seconds, values
}

// find returns the line with most readings of the keys, the first key with any
// before the others; nil for none.
func (c *course) find(keys ...string) *line {
	for _, key := range keys {
		var best *line
		for _, l := range c.lines {
			if l.Key == key && (best == nil || len(l.Seconds) > len(best.Seconds)) {
				best = l
			}
		}
		if best != nil {
			return best
		}
	}
	return nil
}

// runUpView is what a record shows of the lamp's start, in words.
type runUpView struct {
	Stable bool
	Head   string
	Why    string
	Left   string
	Times  [][2]string
}

// runUpOf judges a run-up by the light and the power that were recorded; nil where
// there is too little of either.
func runUpOf(c *course, rule temporal.Criterion) *runUpView {
	light := c.find("illuminance", keyFlux, "luminance", live.LightKey)
	if light == nil || len(light.Seconds) < 3 {
		return nil
	}
	trace, err := temporal.NewTrace(light.Seconds, light.Values)
	if err != nil {
		return nil
	}
	var power temporal.Trace
	if l := c.find(keyPower); l != nil {
		if power, err = temporal.NewTrace(l.Seconds, l.Values); err != nil {
			return nil
		}
	}
	run, err := live.JudgeRunUp(trace, power, temporal.Options{Criterion: rule, SwitchOn: c.switchedOn})
	if err != nil {
		return &runUpView{Head: "Not judged", Why: sentence(err.Error())}
	}
	v := &runUpView{Stable: run.Verdict.Stable, Head: "Not yet stable", Why: sentence(cmp.Or(run.Verdict.Why, run.Why))}
	if v.Stable {
		v.Head = "Stable"
		add := func(name string, seconds float64) {
			if !math.IsNaN(seconds) {
				v.Times = append(v.Times, [2]string{name, minutes(seconds)})
			}
		}
		add("First light", run.FirstLight)
		for _, reach := range run.Reached {
			add(fmt.Sprintf("%.0f %% of the stabilised light", 100*reach.Share), reach.Seconds)
		}
		add("Stable since", run.StableSince)
		return v
	}
	switch p := run.Left; {
	case p.Why != "":
		v.Left = sentence(p.Why)
	case math.IsInf(p.High, 1):
		v.Left = fmt.Sprintf("About %s more, going by the %s; the record does not say how long at most.", minutes(p.Left), p.Slower)
	case minutes(p.Low) == minutes(p.High):
		v.Left = fmt.Sprintf("About %s more, going by the %s.", minutes(p.Left), p.Slower)
	default:
		v.Left = fmt.Sprintf("About %s more (%s to %s), going by the %s.", minutes(p.Left), minutes(p.Low), minutes(p.High), p.Slower)
	}
	return v
}

// minutes writes a time as a person would say it.
func minutes(seconds float64) string {
	if seconds < 90 {
		return fmt.Sprintf("%.0f s", seconds)
	}
	return strconv.FormatFloat(seconds/60, 'f', 1, 64) + " min"
}

// shot is a spectrum as the page draws it.
type shot struct {
	N       int64     `json:"n"`
	Seconds float64   `json:"seconds"`
	Unit    string    `json:"unit"`
	Nm      []float64 `json:"nm"`
	Values  []float64 `json:"values"`
}

// shotPoints is how many places of a spectrum are drawn.
const shotPoints = 900

// shot fetches a spectrum, thinned by the largest sample of each column so that
// no line is lost.
func (s *Server) shot(ctx context.Context, sitting notebook.ID, n int64, start time.Time) (*shot, error) {
	reading, err := s.reading(ctx, sitting, n)
	if err != nil {
		return nil, err
	}
	sp, err := spectrumOf(reading.Curve)
	if err != nil {
		return nil, err
	}
	out := &shot{N: n, Seconds: reading.At.Sub(start).Seconds()}
	if sp.Quantity().Absolute() {
		out.Unit = sp.Quantity().Unit()
	}
	nm, values := sp.Axis(), sp.Values()
	step := (len(nm) + shotPoints - 1) / shotPoints
	for i := 0; i < len(nm); i += step {
		best := i
		for j := i; j < min(i+step, len(nm)); j++ {
			if values[j] > values[best] {
				best = j
			}
		}
		out.Nm, out.Values = append(out.Nm, nm[best]), append(out.Values, values[best])
	}
	return out, nil
}

// sittingRecord is the record of a sitting for its pictures, as JSON.
func (s *Server) sittingRecord(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	c, err := s.course(r.Context(), sit)
	if err != nil {
		return err
	}
	out := struct {
		Start time.Time `json:"start"`
		Last  int64     `json:"last"`
		Lines []*line   `json:"lines"`
		Marks []mark    `json:"marks"`
		Shot  *shot     `json:"shot"`
	}{c.start, c.last, append([]*line{}, c.lines...), append([]mark{}, c.marks...), nil}
	if c.spectrumN > 0 {
		if out.Shot, err = s.shot(r.Context(), sit.ID, c.spectrumN, c.start); err != nil {
			return err
		}
	}
	return writeJSON(w, out)
}
