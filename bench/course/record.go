package course

import (
	"cmp"
	"context"
	"slices"
	"sync"
	"time"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

// Record keeps the numbers of one sitting. It is safe for use by several at once.
type Record struct {
	nb      notebook.Notebook
	sitting notebook.ID

	mu      sync.Mutex
	after   int64 // the last reading that was read
	series  []*series
	marks   []event
	on      []moment // when the lamp was said to be switched on
	spectra []spectrum
	first   []moment // the earliest reading of all so far, and those that came before it
	see     func(*notebook.Reading) []notebook.Value
}

// moment is when a reading was made.
type moment struct {
	n  int64 // its number
	at int64 // µs since 1970
}

// spectrum is a reading that has one.
type spectrum struct {
	moment
	channel string
}

// event is something to be marked on the time axis.
type event struct {
	moment
	text string
}

// series is one number of one channel.
type series struct {
	channel, key, unit string
	first              int64 // the reading that it begins with
	samples            []sample
	other              map[string]int // readings in units that cannot be brought to this one
}

type sample struct {
	moment
	v float64
}

// mostKept bounds a series: of older samples, beyond, the extremes remain.
const mostKept = 1 << 18

// mostLooked bounds how many spectra of a long record are looked at when it is
// opened: enough for every column of a screen.
const mostLooked = 1200

// New begins a record. Nothing is read yet.
func New(nb notebook.Notebook, sitting notebook.ID) *Record {
	return &Record{nb: nb, sitting: sitting, see: live.Photometer()}
}

// Extend reads what the sitting has got since, and returns the number of its last
// reading.
func (r *Record) Extend(ctx context.Context) (last int64, err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	var fresh []spectrum
	for reading, err := range r.nb.Readings(ctx, notebook.Readings{Sitting: r.sitting, After: r.after, NoCurves: true}) {
		if err != nil {
			return r.after, err
		}
		at := moment{reading.N, reading.At.UnixMicro()}
		r.add(reading, at)
		if reading.Curve != nil && reading.Curve.RateHz == 0 {
			fresh = append(fresh, spectrum{at, reading.Channel})
		}
		r.after = reading.N
	}
	r.spectra = append(r.spectra, fresh...)
	return r.after, r.look(ctx, fresh)
}

// look sees what spectra show, of many every so manieth and the last.
func (r *Record) look(ctx context.Context, fresh []spectrum) error {
	for k := range min(len(fresh), mostLooked) {
		at := fresh[k]
		if len(fresh) > mostLooked {
			at = fresh[k*(len(fresh)-1)/(mostLooked-1)]
		}
		for reading, err := range r.nb.Readings(ctx, notebook.Readings{Sitting: r.sitting, After: at.n - 1, Limit: 1}) {
			if err != nil {
				return err
			}
			r.take(reading.Channel, r.see(reading), at.moment)
		}
	}
	return nil
}

func (r *Record) add(reading *notebook.Reading, at moment) {
	if len(r.first) == 0 || at.at < r.first[len(r.first)-1].at {
		r.first = append(r.first, at)
	}
	r.take(reading.Channel, reading.Values, at)
	if live.IsSwitchOn(reading.Note) {
		r.on = append(r.on, at)
	}
	if reading.Note != "" && len(reading.Values) == 0 && reading.Curve == nil {
		r.mark(at, reading.Note)
	}
	for _, f := range reading.Flags {
		r.mark(at, reading.Channel+": "+f)
	}
}

// mark notes an event. What happens again and again is noted where it begins.
func (r *Record) mark(at moment, text string) {
	if n := len(r.marks); n == 0 || r.marks[n-1].text != text {
		r.marks = append(r.marks, event{at, text})
	}
}

func (r *Record) take(channel string, values []notebook.Value, at moment) {
	for i := range values {
		v := &values[i]
		if v.V == nil || v.Flag != "" {
			continue
		}
		s := r.of(channel, v, at.n)
		x, ok := v.In(s.unit)
		if !ok {
			s.other[v.Unit]++
			continue
		}
		if s.samples = append(s.samples, sample{at, x}); len(s.samples) > mostKept {
			s.thin()
		}
	}
}

// of finds the series of a value. Series stand in the order of the readings they begin
// with, in however many pieces those were read.
func (r *Record) of(channel string, v *notebook.Value, n int64) *series {
	for _, s := range r.series {
		if s.channel == channel && s.key == v.Key {
			return s
		}
	}
	s := &series{channel: channel, key: v.Key, unit: v.Unit, first: n, other: map[string]int{}}
	r.series = append(r.series, s)
	slices.SortStableFunc(r.series, func(a, b *series) int { return cmp.Compare(a.first, b.first) })
	return s
}

// thin halves a series: of each eight older samples the least and the greatest stay.
func (s *series) thin() {
	const each = 8
	older := len(s.samples) * 2 / 3 / each * each
	kept := s.samples[:0]
	for lo := 0; lo < older; lo += each {
		part := s.samples[lo : lo+each]
		least, most := 0, 0
		for i := range part {
			if part[i].v < part[least].v {
				least = i
			}
			if part[i].v > part[most].v {
				most = i
			}
		}
		a, b := part[min(least, most)], part[max(least, most)]
		kept = append(kept, a)
		if least != most {
			kept = append(kept, b)
		}
	}
	s.samples = append(kept, s.samples[older:]...)
}

// start is when the course begins: at the earliest reading that counts.
func (r *Record) start(sit *notebook.Sitting) time.Time {
	if len(sit.Struck) == 0 {
		if n := len(r.first); n > 0 {
			return time.UnixMicro(r.first[n-1].at).UTC()
		}
		return time.Time{}
	}
	earliest, found := int64(0), false
	see := func(m moment) {
		if (!found || m.at < earliest) && sit.StruckOut(m.n) == "" {
			earliest, found = m.at, true
		}
	}
	for _, s := range r.series {
		for i := range s.samples {
			see(s.samples[i].moment)
		}
	}
	for _, e := range r.marks {
		see(e.moment)
	}
	for _, m := range r.first {
		see(m)
	}
	for _, one := range r.spectra {
		see(one.moment)
	}
	if !found {
		return time.Time{}
	}
	return time.UnixMicro(earliest).UTC()
}

// Spectra returns the numbers of a channel's readings that have a spectrum, of all
// channels' where it is "", those that were set aside among them.
func (r *Record) Spectra(channel string) (numbers []int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, one := range r.spectra {
		if channel == "" || one.channel == channel {
			numbers = append(numbers, one.n)
		}
	}
	return numbers
}
