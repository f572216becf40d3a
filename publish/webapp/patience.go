package webapp

import (
	"errors"
	"io"
	"net/http"
	"os"
	"time"
)

// patience is how long a request's body is waited for.
type patience struct {
	idle    time.Duration // between two parts of it
	lead    time.Duration // that a slow one has, and
	slowest float64       // bytes a second that it then has to come at, on the whole
}

// usualPatience lets a telephone at the far end of a garden send a picture, and
// lets go of whoever only holds the line.
var usualPatience = patience{idle: 20 * time.Second, lead: 30 * time.Second, slowest: 8 << 10}

// bound gives up requests whose body does not come.
func (p patience) bound(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Body != nil && r.Body != http.NoBody {
			b := &awaited{ReadCloser: r.Body, patience: p, w: w, control: http.NewResponseController(w), begun: time.Now()}
			b.wait() // also where nobody reads it, when the server drains it
			r.Body = b
		}
		next.ServeHTTP(w, r)
	})
}

// awaited is a body whose parts have to come in time.
type awaited struct {
	io.ReadCloser
	patience
	w       http.ResponseWriter
	control *http.ResponseController
	begun   time.Time
	read    int64
	late    bool
}

func (b *awaited) Read(p []byte) (int, error) {
	b.wait()
	n, err := b.ReadCloser.Read(p)
	b.read += int64(n)
	switch {
	case err == io.EOF:
		// The answer may take longer than the body was allowed to. A connection
		// without deadlines is one of a test.
		_ = b.control.SetReadDeadline(time.Time{})
	case errors.Is(err, os.ErrDeadlineExceeded) && !b.late:
		// From here on the request counts as given up, and its page says nothing.
		b.late = true
		b.w.Header().Set("Connection", "close")
		http.Error(b.w, "The rest of this did not come in time and nothing was done with it. Send it again.", http.StatusRequestTimeout)
	}
	return n, err
}

// wait sets until when the next part has to be there.
func (b *awaited) wait() {
	until := time.Now().Add(b.idle)
	whole := b.begun.Add(b.lead + time.Duration(float64(b.read)/b.slowest*float64(time.Second)))
	if whole.Before(until) {
		until = whole
	}
	_ = b.control.SetReadDeadline(until)
}
