package webapp

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"lampassay/bench/course"
	"lampassay/bench/notebook"
	"lampassay/light/emission"
	"lampassay/light/spectrum"
	"lampassay/publish/figure"
)

// Bounds of what is drawn of a long run-up.
const (
	mostWaterfall = 180 // spectra: about two for each row of the picture
	mostFollowed  = 48  // of these, in which elements are looked for: that takes the time
	mostPointedAt = 20  // events, with a letter each
)

// picturesKey names the pictures of a run-up: of the readings that were there, and of
// the sitting as it was then, since readings can be set aside.
type picturesKey struct {
	sitting  notebook.ID
	last     int64
	revision int64
}

// runUpPictures are the spectra of a run-up in pictures.
type runUpPictures struct {
	Pictures []drawnPicture
	Missing  []string // what is not drawn and why, in sentences
	Said     string   // what is drawn
}

type picturesView struct {
	Sitting *notebook.Sitting
	Lamp    *notebook.Lamp
	*runUpPictures
}

// sittingPictures draws a run-up: its spectra over time, and what shines in them.
func (s *Server) sittingPictures(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	d := picturesView{Sitting: sit}
	if d.Lamp, err = s.nb.Lamps().Get(ctx, sit.Lamp); err != nil {
		return err
	}
	c, err := s.course(ctx, sit)
	if err != nil {
		return err
	}
	d.runUpPictures, err = s.pictures.get(ctx, picturesKey{sit.ID, c.Last, sit.Revision}, func(ctx context.Context) (*runUpPictures, error) {
		return s.drawRunUp(ctx, sit, c)
	})
	if err != nil {
		return err
	}
	v := s.view(r, "Run-up of "+d.Lamp.Name)
	v.Here, v.Data = "", &d
	return s.show(w, "runuppictures.html", v)
}

// drawRunUp draws the spectra of the source that recorded the latest.
func (s *Server) drawRunUp(ctx context.Context, sit *notebook.Sitting, c *course.Course) (*runUpPictures, error) {
	if c.Spectrum == 0 {
		return &runUpPictures{Missing: []string{"This sitting has no spectrum yet."}}, nil
	}
	select {
	case s.heavy <- struct{}{}:
		defer func() { <-s.heavy }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	zero := 0.0
	if c.SwitchedOn != nil {
		zero = *c.SwitchedOn
	}
	moments, all, err := s.momentsOf(ctx, sit, c, zero)
	if err != nil {
		return nil, err
	}
	if len(moments) < 2 {
		return &runUpPictures{Missing: []string{fmt.Sprintf("A run-up is drawn of two spectra or more from one source, with the same wavelengths and one after the other: here %s.", thereIs(len(moments)))}}, nil
	}
	out := &runUpPictures{Said: fmt.Sprintf("%s, times from the beginning of the record.", count(int64(len(moments)), "spectrum", "spectra"))}
	if len(moments) < all {
		out.Said = fmt.Sprintf("%d of %d spectra, spread evenly; times from the beginning of the record.", len(moments), all)
	}
	if c.SwitchedOn != nil {
		out.Said = strings.Replace(out.Said, "the beginning of the record", "switching on", 1)
	}
	out.draw(waterfallOf(moments, c, zero))
	followed := spread(moments, mostFollowed)
	line, err := emission.Follow(followed, emission.Options{})
	switch {
	case err != nil:
		out.Missing = append(out.Missing, sentence("the lines of elements are not followed: "+strings.TrimPrefix(err.Error(), "emission: ")))
	case len(line.Tracks) == 0:
		out.Missing = append(out.Missing, "No element shows lines whose course could be drawn.")
	default:
		out.draw(elementsOf(line, followed[0].Spectrum.Quantity()))
	}
	return out, nil
}

func thereIs(n int) string {
	if n == 1 {
		return "there is one"
	}
	return fmt.Sprintf("there are %d", n)
}

// draw adds a picture, or why there is none.
func (p *runUpPictures) draw(picture *figure.Picture, err error) {
	var one drawnPicture
	if err == nil {
		one, err = drawn(picture)
	}
	if err != nil {
		p.Missing = append(p.Missing, sentence(strings.TrimPrefix(err.Error(), "figure: ")))
		return
	}
	p.Pictures = append(p.Pictures, one)
}

// momentsOf fetches the spectra that are drawn, of all there are from the source of
// the latest: those with its wavelengths and of its kind.
func (s *Server) momentsOf(ctx context.Context, sit *notebook.Sitting, c *course.Course, zero float64) (moments []emission.Moment, all int, err error) {
	latest, err := s.reading(ctx, sit.ID, c.Spectrum)
	if err != nil {
		return nil, 0, err
	}
	like, err := spectrumOf(latest.Curve)
	if err != nil {
		return nil, 0, err
	}
	numbers := slices.DeleteFunc(s.courses.at(s.nb, sit.ID).Spectra(latest.Channel), func(n int64) bool { return n > c.Last || sit.StruckOut(n) != "" })
	for _, n := range spread(numbers, mostWaterfall) {
		r, err := s.reading(ctx, sit.ID, n)
		if err != nil {
			return nil, 0, err
		}
		if r.Instrument != latest.Instrument || r.Curve.Quantity != latest.Curve.Quantity {
			continue
		}
		sp, err := spectrumOf(r.Curve)
		if err != nil {
			continue // of its samples too few are there
		}
		at := r.At.Sub(c.Start).Seconds() - zero
		if k := len(moments); k > 0 && at <= moments[k-1].Seconds || !slices.Equal(sp.Axis(), like.Axis()) {
			continue
		}
		moments = append(moments, emission.Moment{Seconds: at, Spectrum: sp})
	}
	return moments, len(numbers), nil
}

// spread takes up to most of a list, evenly, the first and the last among them.
func spread[T any](all []T, most int) []T {
	if len(all) <= most {
		return all
	}
	some := make([]T, most)
	for k := range some {
		some[k] = all[k*(len(all)-1)/(most-1)]
	}
	return some
}

// waterfallOf draws spectra over time, with what was marked meanwhile.
func waterfallOf(moments []emission.Moment, c *course.Course, zero float64) (*figure.Picture, error) {
	first := moments[0].Spectrum
	w := figure.Waterfall{Title: "The spectra over time", Wavelengths: first.Axis()}
	if first.Quantity() == spectrum.Counts {
		w.Note = "Raw counts, as they were recorded."
	}
	for _, m := range moments {
		w.Seconds, w.Values = append(w.Seconds, m.Seconds), append(w.Values, m.Spectrum.Values())
	}
	from, to := w.Seconds[0], w.Seconds[len(w.Seconds)-1]
	for _, m := range c.Marks {
		if at := m.Seconds - zero; at >= from && at <= to && len(w.Flags) < mostPointedAt {
			w.Flags = append(w.Flags, figure.EmissionEvent{Seconds: at, Text: m.Text})
		}
	}
	slices.SortStableFunc(w.Flags, func(a, b figure.EmissionEvent) int { return cmp.Compare(a.Seconds, b.Seconds) })
	return w.Picture()
}

// elementsOf draws how the lines of each element rise and fall.
func elementsOf(line *emission.Timeline, q spectrum.Quantity) (*figure.Picture, error) {
	e := figure.EmissionTimeline{Seconds: line.Seconds, Title: "The lines of each element over time"}
	if q.Absolute() {
		e.Unit = strings.TrimSuffix(q.Unit(), "/nm")
	}
	for _, t := range line.Tracks {
		e.Tracks = append(e.Tracks, figure.EmissionTrack{Emitter: t.Spectrum, Power: t.Power, PowerU: t.PowerU})
	}
	for _, v := range line.Events {
		e.Events = append(e.Events, figure.EmissionEvent{Seconds: v.Seconds, Text: v.Text})
	}
	return e.Picture()
}
