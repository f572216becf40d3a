package webapp

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"lampassay/bench/notebook"
)

// stream is an answer that goes on: server-sent events. Whoever does not take an
// event within streamPatience is let go, and begins again from what there is then.
type stream struct {
	w       http.ResponseWriter
	control *http.ResponseController
}

const (
	streamPatience = 10 * time.Second
	streamPulse    = 20 * time.Second       // a comment this often shows that the line is alive
	streamRest     = 200 * time.Millisecond // at least between two events of one stream
)

func openStream(w http.ResponseWriter) *stream {
	w.Header().Set("Content-Type", "text/event-stream")
	return &stream{w, http.NewResponseController(w)}
}

func (t *stream) send(id int64, event string, data any) error {
	body, err := json.Marshal(data)
	if err != nil {
		return err
	}
	return t.write(fmt.Sprintf("id: %d\nevent: %s\ndata: %s\n\n", id, event, body))
}

func (t *stream) write(text string) error {
	if err := t.control.SetWriteDeadline(time.Now().Add(streamPatience)); err != nil {
		return err
	}
	if _, err := t.w.Write([]byte(text)); err != nil {
		return err
	}
	return t.control.Flush()
}

// follow calls tell after each change, several changes at once where they come
// fast, until the browser or the server ends it.
func (s *Server) follow(r *http.Request, t *stream, after int64, tell func(last int64) error) error {
	if err := t.write(": here\n\n"); err != nil {
		return ignoreGone(err)
	}
	ctx := r.Context()
	type news struct {
		last int64
		err  error
	}
	for {
		come := make(chan news, 1)
		go func() {
			last, err := s.nb.Watch(ctx, after)
			come <- news{last, err}
		}()
	wait:
		select {
		case n := <-come:
			if n.err != nil {
				return ignoreGone(n.err)
			}
			after = n.last
			if err := tell(n.last); err != nil {
				return ignoreGone(err)
			}
		case <-time.After(streamPulse):
			if err := t.write(": still here\n\n"); err != nil {
				return ignoreGone(err)
			}
			goto wait
		}
		select {
		case <-time.After(streamRest):
		case <-ctx.Done():
			return nil
		}
	}
}

// since is the change that a stream goes on from: the one that the browser had
// last, or the one that its page was made at.
func since(r *http.Request) int64 {
	for _, text := range []string{r.Header.Get("Last-Event-ID"), r.URL.Query().Get("after")} {
		if n, err := strconv.ParseInt(text, 10, 64); err == nil && n >= 0 {
			return n
		}
	}
	return 0
}

// events tells of changes to the notebook.
func (s *Server) events(w http.ResponseWriter, r *http.Request) error {
	t := openStream(w)
	return s.follow(r, t, since(r), func(last int64) error { return t.send(last, "changed", last) })
}

// mostLive is how many readings are told one by one; who is further behind reads
// the record anew.
const mostLive = 500

// sittingLive tells of a sitting's readings as they are recorded.
func (s *Server) sittingLive(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	tally, err := s.nb.Tally(r.Context(), sit.ID)
	if err != nil {
		return err
	}
	had := since(r)
	t := openStream(w)
	return s.follow(r, t, -1, func(int64) error {
		now, err := s.nb.Tally(r.Context(), sit.ID)
		if err != nil || now.Readings <= had {
			return err
		}
		if now.Readings-had > mostLive {
			had = now.Readings
			return t.send(had, "behind", had)
		}
		c := &course{start: tally.From}
		if tally.Readings == 0 {
			c.start = now.From
		} else if now.From.Before(tally.From) {
			return t.send(had, "behind", had) // what came is older than all there was
		}
		before := had
		for reading, err := range s.nb.Readings(r.Context(), notebook.Readings{Sitting: sit.ID, After: had}) {
			if err != nil {
				return err
			}
			had = reading.N
			c.add(reading)
		}
		seen, err := s.sights(r.Context(), sit.ID, had)
		if err != nil {
			return err
		}
		for _, one := range seen {
			if one.n > before {
				c.take(one.at.Sub(c.start).Seconds(), one.channel, one.values)
			}
		}
		news := struct {
			Lines []*line `json:"lines"`
			Marks []mark  `json:"marks"`
			Shot  *shot   `json:"shot"`
			Count int64   `json:"count"`
		}{append([]*line{}, c.lines...), append([]mark{}, c.marks...), nil, had}
		if c.spectrumN > 0 {
			if news.Shot, err = s.shot(r.Context(), sit.ID, c.spectrumN, c.start); err != nil {
				return err
			}
		}
		return t.send(had, "readings", news)
	})
}

func writeJSON(w http.ResponseWriter, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	_, err = w.Write(body)
	return ignoreGone(err)
}
