package webapp

import (
	"math"
	"net/url"
	"strings"
	"testing"
	"unicode/utf8"
)

func FuzzTheWayBackStaysHere(f *testing.F) {
	for _, s := range []string{"/", "/lamps/1?done=3", "//evil.example", "https://evil.example/x", `/\\evil.example`, "/a?b=//c", "%2f%2fevil", "/\t/evil"} {
		f.Add(s)
	}
	base, err := url.Parse("http://127.0.0.1:7410/lamps/1")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, to string) {
		got := localPath(to)
		u, err := base.Parse(got)
		if err != nil || u.Host != base.Host || u.Scheme != base.Scheme || !strings.HasPrefix(got, "/") || strings.HasPrefix(got, "//") {
			t.Errorf("%q leads to %q", to, got)
		}
	})
}

func FuzzLabelsAreOneLineOfText(f *testing.F) {
	for _, s := range []string{"tube.csv", `C:\bench\tube.csv`, "../../etc/passwd", "a\nb", "", "..", "/", "\xff\xfe"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		got := labelOf(name)
		if got == "" || !utf8.ValidString(got) || strings.ContainsAny(got, "/\\\n\r\x00") || len(got) > 120 {
			t.Errorf("%q is labelled %q", name, got)
		}
		if labelOf(got) != got {
			t.Errorf("%q is labelled %q and that %q", name, got, labelOf(got))
		}
	})
}

func FuzzNumbersAreFinite(f *testing.F) {
	for _, s := range []string{"1", "1,5", "−3.25", "1e400", "NaN", "inf", "1 234,5", "0x10", "1_000"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if v, err := parseNumber(text); err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
			t.Errorf("%q is %g", text, v)
		}
	})
}
