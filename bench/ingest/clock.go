package ingest

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// TimeFormat says how the times of a series are written.
type TimeFormat uint8

// The formats of times. Numbers between 20 000 and 80 000 that advance by less
// than a day are Serial, from 3·10⁸ to 4.2·10⁹ Epoch and from 3·10¹¹ to 4.2·10¹²
// EpochMillis; others are Elapsed.
const (
	AutoTime    TimeFormat = iota // by what they look like
	Elapsed                       // in seconds, or in the unit that stands beside them
	Clock                         // mm:ss or h:mm:ss
	Calendar                      // ISO 8601: 2026-01-31T14:05:09Z, or parts of it
	Serial                        // a spreadsheet's days since 30 December 1899
	Epoch                         // seconds since 1970
	EpochMillis                   // milliseconds since 1970
)

var timeNames = [...]string{"auto", "elapsed", "clock", "iso8601", "serial", "epoch", "epoch-ms"}

// String returns the format's name as options spell it.
func (f TimeFormat) String() string {
	if int(f) < len(timeNames) {
		return timeNames[f]
	}
	return fmt.Sprintf("TimeFormat(%d)", uint8(f))
}

// ParseTimeFormat is the inverse of [TimeFormat.String].
func ParseTimeFormat(s string) (TimeFormat, error) {
	for f, name := range timeNames {
		if s == name {
			return TimeFormat(f), nil
		}
	}
	return 0, fmt.Errorf("ingest: unknown time format %q: use %s", s, strings.Join(timeNames[:], ", "))
}

// instant is one time as it is written: a number, a reading of a clock in
// seconds, or a date.
type instant struct {
	form  TimeFormat // Elapsed for any number, Clock or Calendar
	value float64    // number or seconds
	date  time.Time
	long  bool // a clock reading with hours
	zone  bool // a date with its zone
}

var (
	clockText  = regexp.MustCompile(`^(\d{1,6}):(\d\d)(?::(\d\d))?([.,]\d{1,9})?$`)
	numberText = regexp.MustCompile(`^(?:[tT]\s*=\s*)?([-+]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][-+]?\d+)?)\s*([a-zµ]*)$`)
)

// timeUnits are the spellings of units of elapsed time, in seconds.
var timeUnits = map[string]float64{
	"ms": 1e-3, "msec": 1e-3, "milliseconds": 1e-3,
	"s": 1, "sec": 1, "secs": 1, "second": 1, "seconds": 1, "sek": 1,
	"min": 60, "mins": 60, "minute": 60, "minutes": 60, "minuten": 60,
	"h": 3600, "hr": 3600, "hrs": 3600, "hour": 3600, "hours": 3600, "std": 3600,
}

// dateLayouts are the forms of ISO 8601 that occur; fractions of a second are
// understood in all that have seconds.
var dateLayouts = []struct {
	layout string
	zone   bool
}{
	{"2006-01-02T15:04:05Z07:00", true}, {"2006-01-02T15:04:05Z0700", true}, {"2006-01-02T15:04Z07:00", true}, {"20060102T150405Z07:00", true},
	{"2006-01-02T15:04:05", false}, {"2006-01-02T15:04", false}, {"20060102T150405", false}, {"2006-01-02", false},
}

// parseInstant reads one time. unit is that of a bare number.
func parseInstant(s string, unit float64) (instant, bool) {
	s = strings.TrimSpace(s)
	if len(s) == 0 || len(s) > 64 {
		return instant{}, false
	}
	if m := numberText.FindStringSubmatch(s); m != nil {
		v, err := strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64)
		if m[2] != "" {
			known := false
			if unit, known = timeUnits[m[2]]; !known {
				return instant{}, false
			}
		}
		v *= unit
		return instant{form: Elapsed, value: v}, err == nil && !math.IsInf(v, 0)
	}
	if m := clockText.FindStringSubmatch(s); m != nil {
		part := func(i int) float64 { v, _ := strconv.ParseFloat(m[i], 64); return v } // "" gives 0
		in := instant{form: Clock, value: part(1)*60 + part(2), long: m[3] != ""}
		low := part(2)
		if in.long {
			if part(2) >= 60 {
				return instant{}, false
			}
			in.value, low = in.value*60+part(3), part(3)
		}
		if m[4] != "" {
			fraction, _ := strconv.ParseFloat("0."+m[4][1:], 64)
			in.value += fraction
		}
		return in, low < 60
	}
	plain := s
	if i := len("2006-01-02"); len(plain) > i && (plain[i] == ' ' || plain[i] == 't') {
		plain = plain[:i] + "T" + strings.TrimLeft(plain[i+1:], " ")
	}
	plain = strings.Replace(plain, " ", "", 1) // before a zone
	for _, l := range dateLayouts {
		if t, err := time.Parse(l.layout, plain); err == nil {
			return instant{form: Calendar, date: t, zone: l.zone}, true
		}
	}
	return instant{}, false
}

// stamp is a time of a file, with where it stands.
type stamp struct {
	text   string
	line   int
	column string
}

// seconds turns the times of a series into seconds from the first, and the
// first into a date where the format has one. heading is what stands over the
// times. They come as the file has them, in order or not.
func seconds(stamps []stamp, heading string, o *Options, r *Report) ([]float64, time.Time, *Problem) {
	unit, given := timeUnitIn(heading)
	all := make([]instant, len(stamps))
	long := false
	for i, s := range stamps {
		in, ok := parseInstant(s.text, unit)
		if !ok {
			return nil, time.Time{}, &Problem{Line: s.line, Column: s.column, Found: Quote(s.text) + " where a time should be",
				Want: "write times as 2026-01-31T14:05:09, h:mm:ss, mm:ss or seconds"}
		}
		if in.form != all[0].form && i > 0 {
			return nil, time.Time{}, &Problem{Line: s.line, Column: s.column, Found: "the time " + Quote(s.text) + " after " + Quote(stamps[0].text),
				Want: "write all times in one way"}
		}
		all[i], long = in, long || in.long
	}
	form := all[0].form
	if form == Elapsed {
		form = numberFormat(all, given)
	}
	if o.Time != AutoTime {
		numbers := o.Time != Clock && o.Time != Calendar
		if numbers != (all[0].form == Elapsed) || !numbers && o.Time != form {
			return nil, time.Time{}, &Problem{Line: stamps[0].line, Column: stamps[0].column, Found: "the time " + Quote(stamps[0].text), Want: "it was to be read as " + o.Time.String()}
		}
		form = o.Time
	}
	r.TimeFormat = form.String()
	out := make([]float64, len(all))
	switch form {
	case Calendar:
		for i, in := range all {
			if d := in.date.Sub(all[0].date); d == math.MaxInt64 || d == math.MinInt64 {
				return nil, time.Time{}, &Problem{Line: stamps[i].line, Column: stamps[i].column, Found: "the time " + Quote(stamps[i].text), Want: "it lies centuries from the first one"}
			} else {
				out[i] = d.Seconds()
			}
		}
		if !all[0].zone {
			r.TimeFormat += " without a zone"
		}
		return out, all[0].date, nil
	case Clock:
		if !long {
			r.warn("times such as " + Quote(stamps[0].text) + " are read as minutes and seconds")
		}
		days := 0.0
		for i, in := range all {
			if i > 0 && long && in.value < all[i-1].value-43200 {
				days += 86400 // past midnight
			}
			out[i] = in.value + days - all[0].value
		}
		return out, time.Time{}, nil
	}
	scale, start := 1.0, time.Time{}
	switch form {
	case Serial:
		// Day 0 is 30 December 1899, so that 1 March 1900 is day 61 in spite of the
		// 29 February 1900 that spreadsheets believe in (ECMA-376 part 1, 18.17.4.1).
		scale = 86400
		start = dateAt(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC), all[0].value, scale)
		r.TimeFormat += " without a zone"
	case Epoch:
		start = dateAt(time.Unix(0, 0).UTC(), all[0].value, 1)
	case EpochMillis:
		scale = 1e-3
		start = dateAt(time.Unix(0, 0).UTC(), all[0].value, scale)
	}
	for i, in := range all {
		if out[i] = (in.value - all[0].value) * scale; math.IsInf(out[i], 0) {
			return nil, time.Time{}, &Problem{Line: stamps[i].line, Column: stamps[i].column, Found: "the time " + Quote(stamps[i].text), Want: "it is too large"}
		}
	}
	return out, start, nil
}

// dateAt adds v·scale seconds to a date, to the millisecond: more a float64 of
// days does not hold. A moment beyond the years 1 to 9999 is no date.
func dateAt(from time.Time, v, scale float64) time.Time {
	whole, fraction := math.Modf(v * scale)
	if math.Abs(whole) > 2e11 {
		return time.Time{}
	}
	t := time.Unix(from.Unix()+int64(whole), int64(math.Round(fraction*1e3))*1e6).UTC()
	if t.Year() < 1 || t.Year() > 9999 {
		return time.Time{}
	}
	return t
}

// numberFormat tells what bare numbers count: all of them, or it is elapsed time.
func numberFormat(all []instant, unitGiven bool) TimeFormat {
	within := func(low, high float64) bool {
		for _, in := range all {
			if in.value < low || in.value > high {
				return false
			}
		}
		return true
	}
	switch {
	case unitGiven:
		return Elapsed
	case within(3e8, 4.2e9):
		return Epoch
	case within(3e11, 4.2e12):
		return EpochMillis
	case !within(20000, 80000):
		return Elapsed
	}
	for i, in := range all[1:] {
		if math.Abs(in.value-all[i].value) >= 1 {
			return Elapsed
		}
	}
	return Serial
}

// timeUnitIn finds the unit of elapsed time in a heading; seconds where it has
// none.
func timeUnitIn(heading string) (float64, bool) {
	for _, p := range parts(heading) {
		if u, ok := timeUnits[strings.ToLower(p)]; ok {
			// “time (s)” over dates in seconds since 1970 is common too: seconds are
			// no unit that decides.
			return u, u != 1
		}
	}
	return 1, false
}

// isTime reports a heading that names times.
func isTime(name string) bool {
	low := strings.ToLower(strings.TrimSpace(name))
	for _, word := range []string{"time", "timestamp", "date", "datetime", "zeit", "elapsed", "elapsed time", "t", "temps", "seconds", "epoch"} {
		rest, ok := strings.CutPrefix(low, word)
		if ok && (rest == "" || strings.ContainsRune("[({/_ ", rune(rest[0])) && !strings.ContainsAny(rest, "0123456789")) {
			return true
		}
	}
	return false
}
