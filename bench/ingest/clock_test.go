package ingest

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"
)

func stampsOf(texts ...string) []stamp {
	var all []stamp
	for i, s := range texts {
		all = append(all, stamp{text: s, line: i + 1})
	}
	return all
}

func TestTimesAreReadAsTheyAreWritten(t *testing.T) {
	date := func(s string) time.Time {
		d, err := time.Parse(time.RFC3339Nano, s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for _, c := range []struct {
		name, heading string
		times         []string
		o             Options
		format        string
		seconds       []float64
		start         time.Time
	}{
		{"ISO 8601 with a zone", "", []string{"2026-01-31T23:59:50+01:00", "2026-02-01T00:00:00.5+01:00"}, Options{}, "iso8601", []float64{0, 10.5}, date("2026-01-31T22:59:50Z")},
		{"two zones", "", []string{"2026-01-31T23:59:50+01:00", "2026-01-31T23:00:00Z"}, Options{}, "iso8601", []float64{0, 10}, date("2026-01-31T22:59:50Z")},
		{"ISO 8601 with a blank", "", []string{"2026-01-31 14:05", "2026-01-31 14:06"}, Options{}, "iso8601 without a zone", []float64{0, 60}, date("2026-01-31T14:05:00Z")},
		{"ISO 8601 without marks", "", []string{"20260131T140500Z", "20260131T140501Z"}, Options{}, "iso8601", []float64{0, 1}, date("2026-01-31T14:05:00Z")},
		{"days", "", []string{"2026-01-31", "2026-02-02"}, Options{}, "iso8601 without a zone", []float64{0, 2 * 86400}, date("2026-01-31T00:00:00Z")},
		// ECMA-376 part 1, 18.17.4.1: 1 January 2000 is the serial date 36526.
		{"serial dates", "", []string{"36526.5", "36526.75"}, Options{}, "serial without a zone", []float64{0, 21600}, date("2000-01-01T12:00:00Z")},
		{"elapsed seconds that could be serial dates", "", []string{"36526", "36527"}, Options{}, "elapsed", []float64{0, 1}, time.Time{}},
		{"serial dates as asked", "", []string{"36526", "36527"}, Options{Time: Serial}, "serial without a zone", []float64{0, 86400}, date("2000-01-01T00:00:00Z")},
		{"epoch", "time (s)", []string{"1000000000", "1000000002.5"}, Options{}, "epoch", []float64{0, 2.5}, date("2001-09-09T01:46:40Z")},
		{"epoch milliseconds", "", []string{"1000000000250", "1000000001250"}, Options{}, "epoch-ms", []float64{0, 1}, date("2001-09-09T01:46:40.25Z")},
		{"elapsed seconds", "t", []string{"-5", "0", "5.5"}, Options{}, "elapsed", []float64{0, 5, 10.5}, time.Time{}},
		{"elapsed with a decimal comma", "t", []string{"0,5", "1,5"}, Options{}, "elapsed", []float64{0, 1}, time.Time{}},
		{"minutes by the heading", "Time [min]", []string{"0", "1.5"}, Options{}, "elapsed", []float64{0, 90}, time.Time{}},
		{"units beside the numbers", "", []string{"500ms", "1.5 s", "2 min", "1h"}, Options{}, "elapsed", []float64{0, 1, 119.5, 3599.5}, time.Time{}},
		{"t =", "", []string{"t = 10 s", "t=20s"}, Options{}, "elapsed", []float64{0, 10}, time.Time{}},
		{"minutes and seconds", "", []string{"0:30", "75:00"}, Options{}, "clock", []float64{0, 4470}, time.Time{}},
		{"hours, minutes and seconds", "", []string{"1:00:00", "1:00:01.25"}, Options{}, "clock", []float64{0, 1.25}, time.Time{}},
		{"past midnight", "", []string{"23:59:50", "00:00:10", "00:01:00"}, Options{}, "clock", []float64{0, 20, 70}, time.Time{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var r Report
			got, start, problem := seconds(stampsOf(c.times...), c.heading, &c.o, &r)
			if problem != nil {
				t.Fatal(problem)
			}
			close := func(a, b float64) bool { return math.Abs(a-b) <= 1e-6 } // what a float64 of days resolves
			if !slices.EqualFunc(got, c.seconds, close) || !start.Equal(c.start) || r.TimeFormat != c.format {
				t.Errorf("%v from %v as %s; want %v from %v as %s", got, start, r.TimeFormat, c.seconds, c.start, c.format)
			}
		})
	}
}

func TestTimesThatAreNoneAreRefused(t *testing.T) {
	for _, c := range []struct {
		name  string
		times []string
		o     Options
		want  string
	}{
		{"a word", []string{"0", "noon"}, Options{}, "x, line 2: found “noon” where a time should be; write times as 2026-01-31T14:05:09, h:mm:ss, mm:ss or seconds"},
		{"a date of two meanings", []string{"01/02/2026"}, Options{}, "x, line 1: found “01/02/2026” where a time should be; write times as 2026-01-31T14:05:09, h:mm:ss, mm:ss or seconds"},
		{"no such minute", []string{"1:61:00"}, Options{}, "x, line 1: found “1:61:00” where a time should be; write times as 2026-01-31T14:05:09, h:mm:ss, mm:ss or seconds"},
		{"no such day", []string{"2026-02-30"}, Options{}, "x, line 1: found “2026-02-30” where a time should be; write times as 2026-01-31T14:05:09, h:mm:ss, mm:ss or seconds"},
		{"two ways", []string{"0:10", "20"}, Options{}, "x, line 2: found the time “20” after “0:10”; write all times in one way"},
		{"another way than asked", []string{"0:10"}, Options{Time: Epoch}, "x, line 1: found the time “0:10”; it was to be read as epoch"},
		{"centuries", []string{"0001-01-01", "9999-01-01"}, Options{}, "x, line 2: found the time “9999-01-01”; it lies centuries from the first one"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, problem := seconds(stampsOf(c.times...), "", &c.o, new(Report))
			if problem == nil {
				t.Fatal("taken")
			}
			problem.File = "x"
			if problem.Error() != c.want {
				t.Errorf("got  %s\nwant %s", problem, c.want)
			}
		})
	}
}

func TestATimeOfDayIsNoHeadingOfTimes(t *testing.T) {
	for name, want := range map[string]bool{"Time": true, "time (s)": true, "t/s": true, "Zeit [min]": true, "Timestamp": true, "T": true,
		"time 10": false, "tungsten": false, "times": false, "intensity": false, "": false} {
		if isTime(name) != want {
			t.Errorf("%q: %v", name, !want)
		}
	}
	if _, err := ParseTimeFormat("sundial"); err == nil || !strings.Contains(err.Error(), "sundial") {
		t.Error(err)
	}
	for f := AutoTime; f <= EpochMillis; f++ {
		if got, err := ParseTimeFormat(f.String()); err != nil || got != f {
			t.Errorf("%v: %v, %v", f, got, err)
		}
	}
}
