package live

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

func TestATableIsReadBackAsItWasWritten(t *testing.T) {
	var b bytes.Buffer
	table, err := NewTable(&b)
	if err != nil {
		t.Fatal(err)
	}
	began := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	p, v := 46.3, 230.1
	for i := range 3 {
		at := began.Add(time.Duration(i) * 1500 * time.Millisecond)
		n, err := table.Append(t.Context(), []notebook.Reading{
			{At: at, Channel: "mains", Values: []notebook.Value{{Key: "power", V: &p, Unit: "W"}, {Key: "voltage", V: &v, Unit: "V"}, {Key: "current", Flag: overRange}}, Raw: "4.63E1;\"230.1\"\nx"},
			{At: at, Channel: "bench", Note: "Switched on, again"},
		})
		if err != nil || n != int64(2*(i+1)) {
			t.Fatalf("%d %v", n, err)
		}
	}
	rec := NewRecord(nil)
	if err := ReadTable("readings.csv", &b, rec); err != nil {
		t.Fatal(err)
	}
	if tr := rec.Trace(Pick{"mains", "power"}); tr.Len() != 3 || tr.Seconds[2] != 3 || tr.Values[0] != 46.3 {
		t.Errorf("%+v", tr)
	}
	if len(rec.Picks()) != 2 || !rec.Start.Equal(began) {
		t.Errorf("%v from %s", rec.Picks(), rec.Start)
	}
	if s := rec.SwitchedOn(); s == nil || *s != 3 {
		t.Error("the mark at 3 s does not say when the lamp was switched on")
	}
	if p, ok := FindPower(rec.Picks()); !ok || p.String() != "mains:power" {
		t.Errorf("%v", p)
	}
}

func TestPlainTablesOfReadings(t *testing.T) {
	for text, want := range map[string]float64{
		"seconds,illuminance (lx),power (W)\n0,1,2\n10.5,3,\n20,OL,4\n":                10.5,
		"# a log\ntime,Illuminance/lx\n2026-11-25 09:00:00,1\n2026-11-25 09:00:07,2\n": 7,
		"\ufeffTime (s), illuminance\n5,1\n9,2\n":                                      9,
		"clock,illuminance\n09:00:00,1\n09:01:00,2\n":                                  60,
	} {
		rec := NewRecord(nil)
		if err := ReadTable("log.csv", strings.NewReader(text), rec); err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		tr := rec.Trace(Pick{"table", "illuminance"})
		if tr.Len() != 2 || tr.Seconds[1] != want {
			t.Errorf("%q: %+v", text, tr)
		}
	}
	for text, says := range map[string]string{
		"time,lux\n0,bright\n": `log.csv, line 2: "bright" under "lux" is no number`,
		"time,lux\nnoon,1\n":   `line 2: "noon" is no time`,
		"time,lux\n0,1,2\n":    "line 2: 3 cells, where the head has 2",
		"time,lux\n0,\"1\n":    "log.csv: ",
		"n,at,channel,key,value,unit,flag,flags,note,raw\n1,noon,a,b,1,,,,,\n":                 `"noon" is no time`,
		"n,at,channel,key,value,unit,flag,flags,note,raw\n1,2026-11-25T09:00:00Z,a,b,x,,,,,\n": `"x" is no number`,
	} {
		if err := ReadTable("log.csv", strings.NewReader(text), NewRecord(nil)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", text, err, says)
		}
	}
	for _, text := range []string{"", "nm,W\n400,1\n", "time\n1\n"} {
		if err := ReadTable("log.csv", strings.NewReader(text), NewRecord(nil)); !errors.Is(err, ErrNoTable) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func FuzzTable(f *testing.F) {
	f.Add([]byte("seconds,illuminance (lx),power (W)\n0,1,2\n10.5,3,\n"))
	f.Add([]byte("n,at,channel,key,value,unit,flag,flags,note,raw\n1,2026-11-25T09:00:00Z,a,b,1,,,,x,\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) > 4096 {
			return
		}
		rec := NewRecord(nil)
		if ReadTable("log.csv", bytes.NewReader(text), rec) != nil {
			return
		}
		for _, p := range rec.Picks() {
			tr := rec.Trace(p)
			for i := 1; i < tr.Len(); i++ {
				if !(tr.Seconds[i] > tr.Seconds[i-1]) {
					t.Errorf("%s goes back in time", p)
				}
			}
		}
	})
}
