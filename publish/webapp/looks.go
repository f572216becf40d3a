package webapp

import (
	"context"
	"sync"
	"time"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

// looks follows the spectra of sittings: their light, CCT and Duv, each spectrum
// looked at once.
type looks struct {
	mu sync.Mutex
	of map[notebook.ID]*look
}

type look struct {
	mu    sync.Mutex
	after int64 // the last reading looked at
	see   func(*notebook.Reading) []notebook.Value
	seen  []sight
}

// sight is what one spectrum showed.
type sight struct {
	n       int64
	at      time.Time
	channel string
	values  []notebook.Value
}

// mostLooked bounds how many spectra of a long record are looked at when it is
// opened: enough for every column of a screen.
const mostLooked = 1200

func (l *looks) at(sitting notebook.ID) *look {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.of == nil || len(l.of) > 32 {
		l.of = map[notebook.ID]*look{}
	}
	if l.of[sitting] == nil {
		l.of[sitting] = &look{see: live.Photometer()}
	}
	return l.of[sitting]
}

// sights returns what the spectra of a sitting showed so far.
func (s *Server) sights(ctx context.Context, sitting notebook.ID, readings int64) ([]sight, error) {
	l := s.looks.at(sitting)
	l.mu.Lock()
	defer l.mu.Unlock()
	q := notebook.Readings{Sitting: sitting, After: l.after}
	if readings-l.after > mostLooked {
		q.Decimate = mostLooked
	}
	for reading, err := range s.nb.Readings(ctx, q) {
		if err != nil {
			return nil, err
		}
		l.after = max(l.after, reading.N)
		if values := l.see(reading); len(values) > 0 {
			l.seen = append(l.seen, sight{reading.N, reading.At, reading.Channel, values})
		}
	}
	l.after = max(l.after, readings)
	return l.seen, nil
}
