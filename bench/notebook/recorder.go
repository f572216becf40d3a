package notebook

import (
	"context"
	"sync"
)

// Recorder stands before [Notebook.Append] where readings arrive one by one, from
// several instruments at once. Those that come while the disk is busy are
// written together, so that each waits for one write at most two long, however
// many they are.
type Recorder struct {
	to      Notebook
	sitting ID

	mu      sync.Mutex
	waiting []*recording
	busy    bool
}

// recording is a reading on its way.
type recording struct {
	reading Reading
	done    chan struct{} // closed when n and err are known
	n       int64
	err     error
}

// MostTogether is how many readings a Recorder writes at once.
const MostTogether = 512

// NewRecorder returns a recorder for one sitting.
func NewRecorder(to Notebook, sitting ID) *Recorder { return &Recorder{to: to, sitting: sitting} }

// Record appends a reading and returns its number once it is on the disk. Where
// the context ends first, the reading may still be written. A reading that
// cannot be kept harms none that came with it.
func (r *Recorder) Record(ctx context.Context, reading Reading) (int64, error) {
	if err := reading.Check(); err != nil {
		return 0, err
	}
	one := &recording{reading: reading, done: make(chan struct{})}
	r.mu.Lock()
	r.waiting = append(r.waiting, one)
	leads := !r.busy
	r.busy = true
	r.mu.Unlock()
	if leads {
		// Others wait for this write, so it outlives the caller who began it.
		go r.write(context.WithoutCancel(ctx))
	}
	select {
	case <-one.done:
		return one.n, one.err
	case <-ctx.Done():
		return 0, ctx.Err()
	}
}

// write appends what waits until nothing does.
func (r *Recorder) write(ctx context.Context) {
	for {
		r.mu.Lock()
		batch := r.waiting[:min(len(r.waiting), MostTogether)]
		r.waiting = r.waiting[len(batch):]
		if len(batch) == 0 {
			r.waiting, r.busy = nil, false
			r.mu.Unlock()
			return
		}
		r.mu.Unlock()
		readings := make([]Reading, len(batch))
		for i, one := range batch {
			readings[i] = one.reading
		}
		last, err := r.to.Append(ctx, r.sitting, readings)
		for i, one := range batch {
			if one.err = err; err == nil {
				one.n = last - int64(len(batch)-1-i)
			}
			close(one.done)
		}
	}
}
