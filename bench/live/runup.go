package live

import (
	"math"
	"slices"
	"sync"
	"time"

	"lampassay/bench/notebook"
	"lampassay/light/temporal"
)

// Pick names one value of one channel, such as power of mains.
type Pick struct {
	Channel string `json:"channel"`
	Key     string `json:"key"`
}

// mostTraced is how many readings of one value are kept for looking at; of older
// ones beyond that, the extremes remain.
const mostTraced = 1 << 18

// traces holds the numbers of a session in memory, for looking at.
type traces struct {
	mu   sync.Mutex
	of   map[Pick]*temporal.Trace
	unit map[Pick]string // of the first number; others are brought to it
	keys []Pick          // in the order they were first seen
}

func newTraces() *traces {
	return &traces{of: map[Pick]*temporal.Trace{}, unit: map[Pick]string{}}
}

// add takes numbers of one moment. What is not after the latest of its value, or
// in a unit that is not the first one's, is left out: it is in the record, and a
// trace only runs forwards.
func (t *traces) add(seconds float64, channel string, values []notebook.Value) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, v := range values {
		if v.V == nil {
			continue
		}
		p := Pick{channel, v.Key}
		tr := t.of[p]
		if tr == nil {
			tr = &temporal.Trace{}
			t.of[p], t.unit[p], t.keys = tr, v.Unit, append(t.keys, p)
		}
		x, same := v.In(t.unit[p])
		if n := tr.Len(); n > 0 && seconds <= tr.Seconds[n-1] || !same {
			continue
		}
		tr.Seconds, tr.Values = append(tr.Seconds, seconds), append(tr.Values, x)
		if tr.Len() > mostTraced {
			older := temporal.Trace{Seconds: tr.Seconds[:mostTraced/2], Values: tr.Values[:mostTraced/2]}.Decimate(mostTraced / 32)
			tr.Seconds = append(older.Seconds, tr.Seconds[mostTraced/2:]...)
			tr.Values = append(older.Values, tr.Values[mostTraced/2:]...)
		}
	}
}

// copy returns a trace that does not change.
func (t *traces) copy(p Pick) temporal.Trace {
	t.mu.Lock()
	defer t.mu.Unlock()
	tr := t.of[p]
	if tr == nil {
		return temporal.Trace{}
	}
	return temporal.Trace{Seconds: slices.Clone(tr.Seconds), Values: slices.Clone(tr.Values)}
}

func (t *traces) unitOf(p Pick) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.unit[p]
}

// Picks lists the values there were numbers of, in the order they first came.
func (s *Session) Picks() []Pick {
	s.traces.mu.Lock()
	defer s.traces.mu.Unlock()
	return slices.Clone(s.traces.keys)
}

// Trace returns the numbers of one value so far, in seconds from the start of the
// session's clock; none where there were none.
func (s *Session) Trace(p Pick) temporal.Trace { return s.traces.copy(p) }

// Unit returns the unit of a trace.
func (s *Session) Unit(p Pick) string { return s.traces.unitOf(p) }

// Watch says what of a session is a lamp's run-up.
type Watch struct {
	Light, Power Pick // Power may be left empty
	Criterion    temporal.Criterion
	SwitchedOn   time.Time // by the session's clock; zero finds it
}

// RuleOf is the rule that a sitting's lamp is called stable by: the one kept with
// the sitting, or [temporal.Usual]. A rule that was kept under a published name
// with numbers that are no longer those is one of the sitting's own.
func RuleOf(sit *notebook.Sitting) temporal.Criterion {
	r := sit.Rule
	if r == nil {
		return temporal.Usual()
	}
	c := temporal.Criterion{Least: r.BurningS, Window: r.WindowS, Every: r.StepS, Spread: r.Spread, GiveUp: r.GiveUpS}
	return c.BegunFrom(r.Origin())
}

// KeptRule is a rule as a sitting keeps it; from is the published one that it was
// begun from.
func KeptRule(c temporal.Criterion, from string) *notebook.Rule {
	r := notebook.Rule{BurningS: c.Least, WindowS: c.Window, StepS: c.Every, Spread: c.Spread, GiveUpS: c.GiveUp}
	if published, known := temporal.Published(from); known && c.SameNumbers(published) {
		r.Name = from
	} else {
		r.BegunFrom = from
	}
	return &r
}

// Standing is how a run-up stands.
type Standing struct {
	temporal.RunUp
	Left temporal.Prediction
}

// RunUp judges the run-up so far. It fails where there are too few readings of
// light to judge.
func (s *Session) RunUp(w Watch) (Standing, error) {
	light, power := s.Trace(w.Light), s.Trace(w.Power)
	o := temporal.Options{Criterion: w.Criterion}
	if !w.SwitchedOn.IsZero() {
		o.SwitchOn = new(w.SwitchedOn.Sub(s.clock.Start()).Seconds())
	}
	return JudgeRunUp(light, power, o)
}

// judged is the number of columns to which longer traces are thinned before they
// are judged. Their extremes stay, so a window's spread does, but for its edges.
const judged = 2000

// JudgeRunUp is [Session.RunUp] of any two traces.
func JudgeRunUp(light, power temporal.Trace, o temporal.Options) (Standing, error) {
	if o.Criterion == (temporal.Criterion{}) {
		o.Criterion = temporal.Usual()
	}
	light, power = light.Decimate(judged), power.Decimate(judged)
	r, err := temporal.Analyse(light, power, o)
	if err != nil {
		return Standing{}, err
	}
	since := r.BurningSince()
	if math.IsNaN(since) {
		return Standing{r, temporal.Prediction{Left: since, Low: since, High: since, Slower: "light", Why: "the lamp is dark"}}, nil
	}
	p, err := temporal.Predict(light, power, o.Criterion, since)
	return Standing{r, p}, err
}
