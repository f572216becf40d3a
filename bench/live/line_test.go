package live

import (
	"net"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/term"
	"pgregory.net/rapid"
)

// wire is a pseudo-terminal: what is written to the file comes in at the port.
func wire(t testing.TB) (*os.File, string) {
	t.Helper()
	far, near, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := term.MakeRaw(int(near.Fd())); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { far.Close(); near.Close() })
	return far, near.Name()
}

func send(t testing.TB, to *os.File, text string) {
	t.Helper()
	if _, err := to.WriteString(text); err != nil {
		t.Fatal(err)
	}
}

func TestLinesOfASerialMeter(t *testing.T) {
	far, port := wire(t)
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, &Line{
		Name: "lux", Port: Port{Serial: port, Baud: 19200, Parity: "even", StopBits: 2, DataBits: 7},
		Pattern: `E=(?P<illuminance>\S+) (?P<illuminance_unit>k?lx)(?: T=(?P<temperature>\S+))?`, Units: map[string]string{"temperature": "°C"},
	})
	until(t, "the port to be open", func() bool { return len(s.Statuses()) > 0 && s.Statuses()[0].Connected })
	send(t, far, "23.4 lx\r\nE=1023.4 lx\r\n\r\nE=OL klx T=21.5\r\nE=10\x00\xff lx\r\nE=12 foot\r\n")
	send(t, far, "E=1")
	time.Sleep(20 * time.Millisecond)
	send(t, far, "7.5 lx\n")
	until(t, "six readings", func() bool { return len(to.of("lux")) == 6 })
	all := to.of("lux")
	for i, want := range []struct{ flag, raw string }{
		{firstLine, "23.4 lx"}, {"", "E=1023.4 lx"}, {"", "E=OL klx T=21.5"}, {unreadable, `"E=10\x00\xff lx"`}, {notMatched, "E=12 foot"}, {"", "E=17.5 lx"},
	} {
		if got := strings.Join(all[i].Flags, ", "); got != want.flag || all[i].Raw != want.raw {
			t.Errorf("line %d: %q is flagged %q, want %q %q", i+1, all[i].Raw, got, want.raw, want.flag)
		}
		if want.flag != "" && len(all[i].Values) > 0 {
			t.Errorf("line %d has values: %+v", i+1, all[i].Values)
		}
	}
	if v := valueIn(t, &all[1], "illuminance"); *v.V != 1023.4 || v.Unit != "lx" {
		t.Errorf("%+v", v)
	}
	if v := valueIn(t, &all[2], "illuminance"); v.V != nil || v.Flag != overRange || v.Unit != "klx" {
		t.Errorf("%+v", v)
	}
	if v := valueIn(t, &all[2], "temperature"); *v.V != 21.5 || v.Unit != "°C" {
		t.Errorf("%+v", v)
	}
}

// At a wrong rate a meter's lines come as bytes of no meaning, rarely with an end.
func TestAWrongBaudRateIsAskedAbout(t *testing.T) {
	far, port := wire(t)
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, &Line{Name: "lux", Port: Port{Serial: port}, Pattern: `(?P<illuminance>\S+)`})
	until(t, "the port to be open", func() bool { return len(s.Statuses()) > 0 && s.Statuses()[0].Connected })
	noise := strings.Repeat("\x80\xfe\x00\x1c\xe6", 999) // as on a wire, and longer than any line
	for range 2 {
		send(t, far, noise)
		time.Sleep(5 * time.Millisecond)
	}
	send(t, far, strings.Repeat("\xfe\x9c\n", 6)+"12.5\n")
	until(t, "the reading after the noise", func() bool {
		all := to.of("lux")
		return len(all) > 0 && len(all[len(all)-1].Values) == 1
	})
	if !said(s, Trouble, "is the baud rate right?") {
		t.Error("the log asks nothing")
	}
	for _, r := range to.of("lux") {
		if err := r.Check(); err != nil {
			t.Error(err)
		}
	}
}

func TestAMeterThatIsUnpluggedIsWaitedFor(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			c.Write([]byte("1 lx\n2 lx\n3 l")) // and away in the middle of a line
			c.Close()
		}
	}()
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, &Line{Name: "lux", Port: Port{TCP: l.Addr().String()}, Pattern: `(?P<illuminance>\S+) lx`})
	until(t, "the meter to be back", func() bool { return len(to.of("lux")) == 6 })
	for i, want := range []string{firstLine, "", noEnd, firstLine, "", noEnd} {
		if got := strings.Join(to.of("lux")[i].Flags, ", "); got != want {
			t.Errorf("reading %d is flagged %q, want %q", i, got, want)
		}
	}
}

func TestAMeterThatSpeaksWhenAsked(t *testing.T) {
	addr, _ := meter(t, func(q string) string {
		if q == "D?" {
			return "12,5\n"
		}
		return "?\n"
	})
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, &Line{Name: "lux", Port: Port{TCP: addr}, Pattern: `(?P<illuminance>[\d,]+)`, Decimal: ",", Ask: `D?\n`, EveryS: 0.01})
	until(t, "an answer", func() bool { return len(to.of("lux")) > 1 })
	r := to.of("lux")[0]
	if v := valueIn(t, &r, "illuminance"); v.V == nil || *v.V != 12.5 {
		t.Errorf("%+v", r)
	}
	if !said(s, Sent, `D?\n`) {
		t.Error("the log does not show what was asked")
	}
}

func TestLineSetUpsThatCannotWorkAreRefused(t *testing.T) {
	right := Line{Name: "lux", Port: Port{Serial: "/dev/ttyUSB0"}, Pattern: `(?P<illuminance>\d+)`}
	if err := right.Check(); err != nil {
		t.Fatal(err)
	}
	for says, change := range map[string]func(*Line){
		"cannot be used":               func(l *Line) { l.Pattern = `(?P<illuminance>\d+` },
		"names no value":               func(l *Line) { l.Pattern = `\d+` },
		`no value "flux"`:              func(l *Line) { l.Pattern = `(?P<lux>\d+)(?P<flux_unit>.)` },
		`a unit for "power"`:           func(l *Line) { l.Units = map[string]string{"power": "W"} },
		"the decimal mark":             func(l *Line) { l.Decimal = "'" },
		"ends with lf or cr":           func(l *Line) { l.End = "crlf" },
		"seconds from 0 up":            func(l *Line) { l.EveryS = -1 },
		"what is asked cannot be read": func(l *Line) { l.Ask = `\q` },
		"the parity":                   func(l *Line) { l.Parity = "sometimes" },
		"5 to 8":                       func(l *Line) { l.DataBits = 9 },
		"1, 1.5 and 2":                 func(l *Line) { l.StopBits = 3 },
		"is no rate":                   func(l *Line) { l.Baud = -9600 },
	} {
		l := right
		change(&l)
		if err := l.Check(); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q in it", err, says)
		}
	}
}

func TestWhateverALineHoldsItBecomesAReadingThatCanBeKept(t *testing.T) {
	m := &Line{Pattern: `(?P<illuminance>\S+) ?(?P<illuminance_unit>\S*)`}
	re, err := m.compile()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(rt *rapid.T) {
		text := string(rapid.SliceOfN(rapid.Byte(), 1, 200).Draw(rt, "bytes"))
		r := m.read(re, line{text: text, at: time.Now()}, false)
		r.Channel = "lux"
		if err := r.Check(); err != nil {
			rt.Fatalf("%q: %v", text, err)
		}
	})
}

func FuzzTyped(f *testing.F) {
	for _, s := range []string{"illuminance 12.5 lx", "power=46,3 W", "switched on", "x 9.9E37", "\xff", " "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1000 {
			return
		}
		r, err := ParseTyped(text)
		if err != nil {
			return
		}
		r.Channel, r.At = "bench", time.Unix(1e9, 0)
		if err := r.Check(); err != nil {
			t.Errorf("%q: %v", text, err)
		}
	})
}

func TestTypedLinesAreValuesOrRemarks(t *testing.T) {
	for text, want := range map[string]string{
		"illuminance 1234.5 lx": "illuminance 1234.5 lx", "power=46,3 W": "power 46.3 W", "cct 2700": "cct 2700 ", "lux OL": "lux over range",
		"switched on": "note: switched on", "lamp 3 of four": "note: lamp 3 of four", "tube cold": "note: tube cold",
	} {
		r, err := ParseTyped(text)
		got := "note: " + r.Note
		if len(r.Values) == 1 {
			got = r.Values[0].Key + " " + r.Values[0].Flag
			if v := r.Values[0].V; v != nil {
				got = strings.Join([]string{r.Values[0].Key, strconv.FormatFloat(*v, 'g', -1, 64), r.Values[0].Unit}, " ")
			}
		}
		if err != nil || got != want {
			t.Errorf("%q: %q, want %q (%v)", text, got, want, err)
		}
	}
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, &Typed{"keyboard", strings.NewReader("switched on\n\nilluminance 12 lx\n")})
	until(t, "both lines", func() bool { return len(to.of("keyboard")) == 2 })
}
