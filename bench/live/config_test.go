package live

import (
	"reflect"
	"strings"
	"testing"
	"time"
)

const setUp = `{"rate": 60, "sources": [
  {"kind": "scpi", "channel": "mains", "tcp": "127.0.0.1:5025", "queries": [{"send": "MEAS:POW?", "values": [{"key": "power", "unit": "W"}]}]},
  {"kind": "line", "channel": "lux", "offset_s": -2.5, "serial": "/dev/ttyUSB0", "baud": 9600, "pattern": "(?P<illuminance>\\S+) lx"},
  {"kind": "folder", "channel": "spectrometer", "path": "."},
  {"kind": "push", "channel": "board", "token": "a-token-of-the-club", "listen": "127.0.0.1:0"}
]}`

func TestASetUpNamesItsSourcesAndComesBackAsItWas(t *testing.T) {
	c, err := ReadConfig("bench.json", strings.NewReader(setUp))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, s := range c.Sources {
		names = append(names, s.Channel())
		raw, err := MarshalSource(s)
		if err != nil {
			t.Fatal(err)
		}
		again, _, err := parseSource(raw)
		if err != nil || !reflect.DeepEqual(s, again) {
			t.Errorf("%s comes back as %+v (%v)", raw, again, err)
		}
	}
	if got := strings.Join(names, " "); got != "mains lux spectrometer board" || c.Rate != 60 {
		t.Errorf("%s at %g", got, c.Rate)
	}
	if len(c.Offsets) != 1 || c.Offsets["lux"] != -2500*time.Millisecond {
		t.Errorf("offsets: %v", c.Offsets)
	}
	if s, ok := c.Sources[1].(*Line); !ok || s.Baud != 9600 || s.Serial != "/dev/ttyUSB0" {
		t.Errorf("%+v", c.Sources[1])
	}
}

func TestASetUpThatCannotWorkIsRefusedInASentence(t *testing.T) {
	for says, change := range map[string][2]string{
		`source 1: there is no source of the kind "gpib"`:             {`"scpi"`, `"gpib"`},
		"source 1: the source has no kind":                            {`"kind": "scpi",`, ""},
		`source 2: the channel "mains" is taken`:                      {`"lux"`, `"mains"`},
		`unknown field "bauds"`:                                       {`"baud"`, `"bauds"`},
		"source 1: mains: \"*RST\" would change":                      {"MEAS:POW?", "*RST;MEAS:POW?"},
		"source 3: spectrometer: the folder cannot be watched":        {`"path": "."`, `"path": "no such"`},
		"1 to 1000 times as fast":                                     {`"rate": 60`, `"rate": 0.5`},
		"source 2: the offset of a clock is from -86400 to 86400 s":   {"-2.5", "1e6"},
		`source 2: offset_s is "\"late\"": it is a number of seconds`: {"-2.5", `"late"`},
		"cannot be read":       {`{"rate"`, `{"rate`},
		"there are no sources": {setUp, `{"sources": []}`},
		"something follows":    {setUp, `{"sources": []} {}`},
	} {
		_, err := ReadConfig("bench.json", strings.NewReader(strings.Replace(setUp, change[0], change[1], 1)))
		if err == nil || !strings.Contains(err.Error(), says) || strings.Contains(err.Error(), "\n") || strings.Contains(err.Error()[1:], "live:") || strings.Contains(err.Error(), " json:") {
			t.Errorf("%v, want %q in it", err, says)
		}
	}
}

func FuzzSource(f *testing.F) {
	for _, s := range []string{
		`{"kind":"scpi","channel":"mains","tcp":"127.0.0.1:1","queries":[{"send":"A?;B?","values":[{"key":"p"}]}]}`,
		`{"kind":"line","channel":"lux","serial":"x","pattern":"(?P<a>.)","ask":"\\x00"}`,
		`{"kind":"push","channel":"b","token":"a-token-of-the-club"}`, `{}`, `[]`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		if len(raw) > 4096 {
			return
		}
		s, _, err := parseSource(raw)
		if err != nil {
			return
		}
		if m, ok := s.(*SCPI); ok {
			for _, q := range m.Queries {
				for _, u := range units(q.Send) {
					if !strings.HasSuffix(header(u), "?") && len(m.Allow) == 0 {
						t.Errorf("%q would be sent", u)
					}
				}
			}
		}
		if _, err := MarshalSource(s); err != nil {
			t.Error(err)
		}
	})
}
