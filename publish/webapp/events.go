package webapp

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"time"
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

// sittingLive tells of a sitting's readings as they are recorded. Where the page's
// time axis no longer holds, it is told to read the record anew.
func (s *Server) sittingLive(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	c, err := s.course(r.Context(), sit)
	if err != nil {
		return err
	}
	start, struck, had := c.Start, len(sit.Struck), since(r)
	t := openStream(w)
	return s.follow(r, t, -1, func(int64) error {
		if sit, err = s.nb.Sittings().Get(r.Context(), sit.ID); err != nil {
			return err
		}
		record := s.courses.at(s.nb, sit.ID)
		last, err := record.Extend(r.Context())
		if err != nil {
			return err
		}
		news := record.Since(sit, had)
		moved := !news.Start.Equal(start) && !start.IsZero() || len(sit.Struck) != struck
		start, struck = news.Start, len(sit.Struck)
		switch {
		case moved || last-had > mostLive:
			had = last
			return t.send(last, "behind", last)
		case last == had:
			return nil
		}
		had = last
		out, err := s.tell(r.Context(), sit.ID, news)
		if err != nil {
			return err
		}
		return t.send(last, "readings", out)
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
