package webapp

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"lampassay/assay/quantity"
	"lampassay/bench/course"
	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

// told is a course as the page's script takes it.
type told struct {
	Start time.Time `json:"start"`
	Last  int64     `json:"last"`
	Lines []line    `json:"lines"`
	Marks []mark    `json:"marks"`
	Shot  *shot     `json:"shot"`
	// Left says what is not drawn, and why, in sentences.
	Left []string `json:"left"`
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

// mark is an event on the time axis.
type mark struct {
	Seconds float64 `json:"seconds"`
	Text    string  `json:"text"`
}

// columns is how many columns a line is drawn in: about as many as a screen has.
const columns = 1000

// tell thins a course for the eye and fetches its latest spectrum.
func (s *Server) tell(ctx context.Context, sitting notebook.ID, c *course.Course) (*told, error) {
	out := &told{Start: c.Start, Last: c.Last, Lines: []line{}, Marks: []mark{}, Left: []string{}}
	for i := range c.Lines {
		l := &c.Lines[i]
		thin := l.Decimate(columns)
		out.Lines = append(out.Lines, line{l.Channel, l.Key, l.Unit, thin.Seconds, thin.Values, decimalsOf(l.Key)})
		for _, o := range l.Other {
			out.Left = append(out.Left, fmt.Sprintf("%s of %s by %s in %q cannot be brought to %q, so %s not drawn.",
				count(o.Readings, "reading", "readings"), l.Key, l.Channel, o.Unit, l.Unit, isOrAre(o.Readings)))
		}
	}
	for _, m := range c.Marks {
		out.Marks = append(out.Marks, mark(m))
	}
	var err error
	if c.Spectrum > 0 {
		out.Shot, err = s.shot(ctx, sitting, c.Spectrum, c.Start)
	}
	return out, err
}

func isOrAre(n int) string {
	if n == 1 {
		return "it is"
	}
	return "they are"
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
	out, err := s.tell(r.Context(), sit.ID, c)
	if err != nil {
		return err
	}
	return writeJSON(w, out)
}
