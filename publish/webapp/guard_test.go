package webapp

import (
	"bytes"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

func TestARequestByAnotherNameGetsNothing(t *testing.T) {
	b := newBench(t)
	for _, host := range []string{"evil.example", "localhost.evil.example", "127.0.0.1:1", "", "192.168.1.7:80"} {
		r := b.request("GET", "/", nil)
		r.Host = host
		if host == "" {
			r.Host = "x"
		}
		if a := b.do(r); a.status != http.StatusMisdirectedRequest || strings.Contains(a.body, "Shelf") {
			t.Errorf("host %q is answered with %d", host, a.status)
		}
	}
}

func TestAnotherSitesPageChangesNothing(t *testing.T) {
	b := newBench(t)
	form := func() *http.Request {
		r := b.request("POST", "/lamps", strings.NewReader(url.Values{"name": {"X"}, "token": {b.server.guard.token}}.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		return r
	}
	for name, headers := range map[string][2]string{
		"a foreign origin":     {"Origin", "https://evil.example"},
		"another port's":       {"Origin", "http://127.0.0.1:1"},
		"a cross-site request": {"Sec-Fetch-Site", "cross-site"},
		"a sister site's":      {"Sec-Fetch-Site", "same-site"},
		"no page at all":       {"Origin", "null"},
	} {
		r := form()
		r.Header.Set(headers[0], headers[1])
		if a := b.do(r); a.status != http.StatusForbidden {
			t.Errorf("%s is answered with %d", name, a.status)
		}
	}
	for _, token := range []string{"", "x", b.server.guard.token + "x"} {
		if a := b.post("/lamps", url.Values{"name": {"X"}, "token": {token}}); a.status != http.StatusForbidden {
			t.Errorf("the token %q is answered with %d", token, a.status)
		}
	}
	r := b.request("GET", "/limit/answer?cct=3000&ra=80", nil)
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	r.Header.Set("Sec-Fetch-Mode", "no-cors")
	if a := b.do(r); a.status != http.StatusForbidden {
		t.Errorf("work for another site's picture is answered with %d", a.status)
	}
	if lamps, err := b.nb.Changes(t.Context(), 0, 0); err != nil || len(lamps) != 0 {
		t.Errorf("the notebook has %d changes, %v", len(lamps), err)
	}
	if a := b.do(form()); a.status != http.StatusOK {
		t.Errorf("the page's own form is answered with %d", a.status)
	}
}

func TestEveryChangeNeedsPost(t *testing.T) {
	b := newBench(t)
	for _, path := range []string{"/lamps", "/undo", "/trash?kind=lamp&id=1", "/restore", "/sittings", "/sittings/1/listen", "/verify", "/comparisons", "/leave"} {
		before, err := b.nb.Changes(t.Context(), 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		b.get(path)
		if after, err := b.nb.Changes(t.Context(), 0, 0); err != nil || len(after) != len(before) {
			t.Errorf("GET %s changed something", path)
		}
	}
}

func TestEveryAnswerCarriesThePolicy(t *testing.T) {
	b := newBench(t)
	for _, path := range []string{"/", "/nowhere", "/static/app.css", "/static/../server.go", "/lamps/1"} {
		a := b.get(path)
		if got := a.header.Get("Content-Security-Policy"); got != policy {
			t.Errorf("%s has the policy %q", path, got)
		}
		if a.header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s may be sniffed", path)
		}
	}
	for _, word := range []string{"unsafe", "*", "http:", "https:"} {
		if strings.Contains(policy, word) {
			t.Errorf("the policy allows %q", word)
		}
	}
}

func TestNoPathLeadsOut(t *testing.T) {
	b := newBench(t)
	for _, path := range []string{
		"/static/..%2f..%2fgo.mod", "/static/%2e%2e/server.go", "/static/templates", "/static/", "/files/..%2f..%2fetc%2fpasswd",
		"/files/" + strings.Repeat("0", 64), "/files/" + strings.Repeat("G", 64), "/import/..%2f..%2fetc", "/lamps/-1", "/lamps/9223372036854775808",
	} {
		if a := b.get(path); a.status != http.StatusNotFound && a.status != http.StatusMethodNotAllowed {
			t.Errorf("%s is answered with %d: %.100s", path, a.status, textOf(a.body))
		}
	}
	a := b.upload("/import", `..\..\etc/passwd`, []byte("1,2\n3,4\n"), nil)
	if !strings.HasPrefix(a.path, "/import/") || !strings.Contains(a.path, "name=passwd") {
		t.Errorf("the file is at %s", a.path)
	}
	for from, to := range map[string]string{
		"/lamps/1": "/lamps/1", "/compare?assay=1&done=4": "/compare?assay=1", "//evil.example/": "/", "https://evil.example/": "/",
		`/\evil.example`: "/", "evil": "/", "javascript:alert(1)": "/", "": "/",
	} {
		if got := localPath(from); got != to {
			t.Errorf("the way back to %q leads to %q, want %q", from, got, to)
		}
	}
}

func TestTooMuchIsRefused(t *testing.T) {
	b := newBench(t)
	a := b.post("/lamps", url.Values{"name": {strings.Repeat("x", mostForm)}})
	if a.status != http.StatusRequestEntityTooLarge {
		t.Errorf("a form of over a megabyte is answered with %d", a.status)
	}
	if a := b.upload("/import", "big.csv", bytes.Repeat([]byte("1,2\n"), mostUpload/4+1), nil); a.status != http.StatusRequestEntityTooLarge {
		t.Errorf("a file of over 64 MB is answered with %d", a.status)
	}
	if a := b.upload("/import", "empty.csv", nil, nil); a.status != http.StatusUnprocessableEntity {
		t.Errorf("an empty file is answered with %d", a.status)
	}
}

func TestWhatIsWrittenIsShownAsText(t *testing.T) {
	b := newBench(t)
	const nasty = `<script>alert(1)</script>"'&`
	b.must("/lamps", url.Values{"name": {nasty}, "technology": {nasty}, "notes": {nasty}})
	b.must("/sittings", url.Values{"lamp": {"1"}, "title": {nasty}})
	b.must("/sittings/1/reading", url.Values{"note": {nasty}})
	b.upload("/import", nasty+".csv", clubFile(t, 0), nil)
	for _, path := range []string{"/", "/lamps/1", "/lamps/1/edit", "/lamps/1/sit", "/sittings/1", "/log", "/?text=" + url.QueryEscape(nasty)} {
		if page := b.page(path); strings.Contains(page, "<script>alert") {
			t.Errorf("%s runs what was written", path)
		}
	}
}

func TestAPasswordLetsInAndNothingElseDoes(t *testing.T) {
	const word = "Signal box at dusk"
	b := newBench(t, func(o *Options) { o.Password = word })
	for _, path := range []string{"/", "/lamps/1", "/export", "/files/" + strings.Repeat("0", 64), "/settings"} {
		if a := b.get(path); a.path != "/enter" || strings.Contains(a.body, "Tidewater") {
			t.Errorf("%s leads to %s", path, a.path)
		}
	}
	if a := b.post("/lamps", url.Values{"name": {"X"}}); a.status != http.StatusUnauthorized {
		t.Errorf("a change without a session is answered with %d", a.status)
	}
	for _, wrong := range []string{"", "signal box at dusk", word + "!", strings.Repeat("x", 200)} {
		if a := b.post("/enter", url.Values{"password": {wrong}}); a.status != http.StatusForbidden {
			t.Errorf("%q is answered with %d", wrong, a.status)
		}
	}
	want(t, b.must("/enter", url.Values{"password": {word}}).body, "No lamp stands here yet")
	for _, c := range b.client.Jar.Cookies(mustURL(t, b.http.URL)) {
		if c.Name == sessionCookie && len(c.Value) < 40 {
			t.Errorf("the session's token is short: %q", c.Value)
		}
	}
	b.must("/leave", nil)
	if a := b.get("/"); a.path != "/enter" {
		t.Errorf("after leaving / leads to %s", a.path)
	}
	for _, p := range []string{"short", strings.Repeat("x", 73)} {
		if CheckPassword(p) == nil {
			t.Errorf("%q will do as a password", p)
		}
	}
}

func mustURL(t *testing.T, text string) *url.URL {
	t.Helper()
	u, err := url.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

// TestVendoredFilesAreUnchanged holds what others made to the sums of the published
// packages.
func TestVendoredFilesAreUnchanged(t *testing.T) {
	for name, sum := range map[string]string{
		"uplot.js":  "19c8d4c6ad88929a79f4ae49d6f7161566dfd0ba3d15cc495e974f787eb78f1f", // uPlot 1.6.32, dist/uPlot.iife.min.js
		"uplot.css": "df630c6a8d6f8eeaff264b50f73ce5b114f646ffd9a0bb74f049b0a00135fa04", // uPlot 1.6.32, dist/uPlot.min.css
	} {
		if got := assets()[name].sum; got != sum {
			t.Errorf("%s has the sum %s", name, got)
		}
	}
	if got := fileSum(t, "../internal/browser/axe/axe.min.js"); got != "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c" { // axe-core 4.14.1
		t.Errorf("axe.min.js has the sum %s", got)
	}
}
