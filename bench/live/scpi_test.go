package live

import (
	"bufio"
	"net"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

// meter answers each line that comes by what answers says, and nothing where that
// says "".
func meter(t testing.TB, answers func(string) string) (addr string, served *atomic.Int64) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	served = new(atomic.Int64)
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			served.Add(1)
			go func() {
				defer c.Close()
				for s := bufio.NewScanner(c); s.Scan(); {
					switch a := answers(s.Text()); a {
					case "":
					case "hang up":
						return
					default:
						c.Write([]byte(a))
					}
				}
			}()
		}
	}()
	return l.Addr().String(), served
}

func powerMeter(addr string) *SCPI {
	return &SCPI{Name: "mains", Port: Port{TCP: addr}, EveryS: 0.01, WaitS: 0.2, Instrument: 3, Queries: []Query{
		{"MEAS:POW?", []Column{{"power", "W"}}},
		{"MEAS:VOLT?;CURR?", []Column{{"voltage", "V"}, {"current", "A"}}},
	}}
}

func TestAMeterIsAskedRoundByRound(t *testing.T) {
	addr, _ := meter(t, func(q string) string {
		return map[string]string{
			"*IDN?": "Harbour,PM,12,1.0\n", "MEAS:POW?": "4.63E+01\r\n", "MEAS:VOLT?;CURR?": " 230.1;+9.9E37\n",
		}[q]
	})
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, powerMeter(addr))
	until(t, "three rounds", func() bool { return len(to.of("mains")) >= 3 })
	r := to.of("mains")[2]
	if v := valueIn(t, &r, "power"); v.V == nil || *v.V != 46.3 || v.Unit != "W" {
		t.Errorf("power: %+v", v)
	}
	if v := valueIn(t, &r, "current"); v.V != nil || v.Flag != overRange {
		t.Errorf("an over-range marker is a flag, not %+v", v)
	}
	if r.Raw != "4.63E+01\n 230.1;+9.9E37" || r.Instrument != 3 || len(r.Flags) != 0 {
		t.Errorf("%+v", r)
	}
	for _, text := range []string{"*IDN?", "MEAS:POW?"} {
		if !said(s, Sent, text) {
			t.Errorf("the log does not show %s", text)
		}
	}
	if !said(s, Got, "Harbour,PM,12,1.0") {
		t.Error("the log does not show who answered")
	}
}

func TestAMeterThatFallsSilentIsReconnected(t *testing.T) {
	var asked atomic.Int64
	addr, served := meter(t, func(q string) string {
		if q == "MEAS:POW?" && asked.Add(1) == 2 {
			return ""
		}
		return map[string]string{"*IDN?": "a,b,c,d\n", "MEAS:POW?": "1\n", "MEAS:VOLT?;CURR?": "2,3\n"}[q]
	})
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, powerMeter(addr))
	until(t, "a second connection and more readings", func() bool { return served.Load() == 2 && len(to.of("mains")) > 3 })
	r := to.of("mains")[1]
	if len(r.Flags) != 1 || r.Flags[0] != "no answer" || len(r.Values) != 3 || valueIn(t, &r, "voltage").V != nil {
		t.Errorf("%+v", r)
	}
	if st := s.Statuses()[0]; !st.Connected || st.Trouble != "" || st.Flagged != 1 {
		t.Errorf("%+v", st)
	}
}

func TestAMeterThatHangsUpInTheMiddleLosesNothingBefore(t *testing.T) {
	var asked atomic.Int64
	addr, _ := meter(t, func(q string) string {
		if strings.HasPrefix(q, "MEAS:VOLT") && asked.Add(1) == 1 {
			return "hang up"
		}
		return map[string]string{"*IDN?": "a,b,c,d\n", "MEAS:POW?": "1\n", "MEAS:VOLT?;CURR?": "2,3\n"}[q]
	})
	to := &shelf{}
	start(t, opened(t, to, Options{}), powerMeter(addr))
	until(t, "a reading after it", func() bool { return len(to.of("mains")) >= 2 })
	r := to.of("mains")[0]
	if v := valueIn(t, &r, "power"); v.V == nil || *v.V != 1 {
		t.Errorf("what was read before is kept: %+v", r)
	}
	if v := valueIn(t, &r, "current"); v.Flag != "connection lost" {
		t.Errorf("%+v", v)
	}
}

func TestStrangeAnswersAreFlaggedAndTheMeterIsAskedWhy(t *testing.T) {
	var errors atomic.Int64
	addr, _ := meter(t, func(q string) string {
		if q == "SYST:ERR?" {
			if errors.Add(1)%2 == 1 {
				return "-113,\"Undefined header\"\n"
			}
			return "0,\"No error\"\n"
		}
		return map[string]string{"*IDN?": "a,b,c,d\n", "MEAS:POW?": "pow\xffer\n", "MEAS:VOLT?;CURR?": "2,3,4\n"}[q]
	})
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, powerMeter(addr))
	until(t, "two rounds", func() bool { return len(to.of("mains")) >= 2 })
	r := to.of("mains")[0]
	if r.Flags[0] != "answer not understood" || valueIn(t, &r, "current").Flag != "2 values were expected, 3 came" {
		t.Errorf("%+v", r)
	}
	if r.Check() != nil || !said(s, Trouble, "Undefined header") {
		t.Error("the meter's own complaint belongs in the log")
	}
}

func TestNothingIsSentThatWouldChangeAMeter(t *testing.T) {
	with := func(change func(*SCPI)) error {
		m := powerMeter("127.0.0.1:5025")
		change(m)
		return m.Check()
	}
	query := func(q string) func(*SCPI) {
		return func(m *SCPI) { m.Queries = []Query{{q, []Column{{"power", "W"}}}} }
	}
	for name, tc := range map[string]struct {
		change func(*SCPI)
		says   string // "" where it is right
	}{
		"queries":                 {func(*SCPI) {}, ""},
		"reset":                   {query("*RST;MEAS:POW?"), `"*RST" would change the instrument`},
		"reset in lower case":     {query("MEAS:POW? ; *rst"), `"*rst" would change`},
		"a setting with a query":  {query(`DISP:TEXT "a;b?";:MEAS:POW?`), "would change"},
		"no query":                {query("INIT"), "would change"},
		"a question in a string":  {query(`DISP:TEXT "how much?"`), "would change"},
		"allowed":                 {func(m *SCPI) { m.Begin, m.Allow = []string{"*CLS;CONF:POW 1"}, []string{"*cls", "CONF:POW 1"} }, ""},
		"allowed is word by word": {func(m *SCPI) { m.Begin, m.Allow = []string{"CONF:POW 2"}, []string{"CONF:POW 1"} }, "would change"},
		"a line feed":             {query("MEAS:POW?\n*RST"), "a character that no command has"},
		"nothing":                 {func(m *SCPI) { m.Queries = nil }, "nothing to ask"},
		"no values":               {func(m *SCPI) { m.Queries[0].Values = nil }, "has no values"},
		"no address":              {func(m *SCPI) { m.Port = Port{} }, "give one of them"},
		"half an address":         {func(m *SCPI) { m.Port = Port{TCP: "meter"} }, "write host:port"},
		"unknown end":             {func(m *SCPI) { m.End = "nul" }, "ends with lf, cr or crlf"},
	} {
		err := with(tc.change)
		if (err == nil) != (tc.says == "") || err != nil && !strings.Contains(err.Error(), tc.says) {
			t.Errorf("%s: %v, want %q", name, err, tc.says)
		}
	}
}

// IEEE 488.2 numbers NR1, NR2, NR3 and the markers of SCPI-99 7.2.1.
func TestNumbersAndMarkers(t *testing.T) {
	n := func(x float64) *float64 { return &x }
	for text, want := range map[string]notebook.Value{
		"42": {V: n(42)}, "-0.5": {V: n(-0.5)}, "+1.25E-03": {V: n(0.00125)}, ".5": {V: n(0.5)}, " 7. ": {V: n(7)},
		"9.9E37": {Flag: overRange}, "9.90000000E+37": {Flag: overRange}, "-9.9E37": {Flag: negative}, "9.91E37": {Flag: notANumber}, "9.910000E+37": {Flag: notANumber},
		"1e999": {Flag: overRange}, "INF": {Flag: overRange}, "-INF": {Flag: negative}, "NaN": {Flag: notANumber}, "OL": {Flag: overRange}, "UL": {Flag: underRange},
		"----": {Flag: noReading}, "": {Flag: noReading},
		"0x10": {Flag: `not a number: "0x10"`}, "1_0": {Flag: `not a number: "1_0"`}, "12,5": {Flag: `not a number: "12,5"`},
	} {
		got := valueOf("k", "", text, false)
		if got.Flag != want.Flag || (got.V == nil) != (want.V == nil) || got.V != nil && *got.V != *want.V {
			t.Errorf("%q: %+v", text, got)
		}
	}
	if v := valueOf("k", "", "12,5", true); v.V == nil || *v.V != 12.5 {
		t.Errorf("a decimal comma: %+v", v)
	}
}

func TestAMeterThatIsNotThereYet(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := l.Addr().String()
	l.Close()
	s := opened(t, &shelf{}, Options{})
	start(t, s, powerMeter(addr))
	until(t, "a sentence about it", func() bool { return s.Statuses()[0].Trouble != "" })
	if st := s.Statuses()[0]; st.Connected || !strings.Contains(st.Trouble, "again in 500ms") {
		t.Errorf("%+v", st)
	}
	began := time.Now()
	s.Stop("mains")
	if time.Since(began) > patience {
		t.Error("a source that waits does not hold up who stops it")
	}
}

func TestAQueryThatActsIsRefusedUnlessAllowed(t *testing.T) {
	for send, acts := range map[string]bool{
		"MEAS:POW?": false, "*IDN?": false, "*ESR?": false, "CALC:DATA?": false, ":SENS:CALC2:DATA?": false, "SYST:ERR?": false,
		"*TST?": true, "*CAL?": true, "*RST?": true, "CAL:ALL?": true, "cal?": true, ":CALibration:ZERO?": true, "CAL2:ALL?": true,
		"TEST:ALL?": true, "DIAG:LAMP?": true, "MEAS:POW?;:CAL:ALL?": true, "MEAS:POW?;*TST?": true,
	} {
		m := powerMeter("127.0.0.1:5025")
		m.Queries[0].Send = send
		err := m.Check()
		if acts != (err != nil && strings.Contains(err.Error(), `would make the instrument test or adjust itself: list it under "allow"`)) {
			t.Errorf("%s: %v", send, err)
		}
		m.Allow = units(send)
		if err := m.Check(); err != nil {
			t.Errorf("%s, allowed: %v", send, err)
		}
	}
}

func TestWhatIsNoNumberIsQuotedOnce(t *testing.T) {
	addr, _ := meter(t, func(q string) string {
		return map[string]string{"*IDN?": "Harbour\n", "MEAS:POW?": "\x00\xff?\n", "MEAS:VOLT?;CURR?": "230;1\n", "SYST:ERR?": "0,\"\"\n"}[q]
	})
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, powerMeter(addr))
	until(t, "a reading", func() bool { return len(to.of("mains")) > 0 })
	r := to.of("mains")[0]
	if v := valueIn(t, &r, "power"); v.Flag != `not a number: "\x00\xff?"` {
		t.Errorf("%s", v.Flag)
	}
	if want := `"\x00\xff?"` + "\n230;1"; r.Raw != want {
		t.Errorf("%s, want %s", r.Raw, want)
	}
}

func FuzzAnswer(f *testing.F) {
	for _, s := range []string{"4.63E+01", "230.1;9.9E37", "1,2", "", "NaN,-INF", "\xff", "pow,er"} {
		f.Add(s)
	}
	q := Query{"MEAS:VOLT?;CURR?", []Column{{"voltage", "V"}, {"current", "A"}}}
	f.Fuzz(func(t *testing.T, answer string) {
		if len(answer) > 4096 {
			return
		}
		text := readable(answer)
		values, _ := q.read(answer)
		r := notebook.Reading{Channel: "mains", At: time.Unix(1e9, 0), Values: values, Raw: text}
		if err := r.Check(); err != nil {
			t.Errorf("%q: %v", answer, err)
		}
		if len(values) != 2 {
			t.Errorf("%q: %d values for two columns", answer, len(values))
		}
		for _, v := range values {
			if (v.V == nil) == (v.Flag == "") {
				t.Errorf("%q: %+v has not either a number or a flag", answer, v)
			}
		}
	})
}
