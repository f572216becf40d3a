package live

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

const token = "a-token-of-the-club"

// door is a mounted Push.
func door(t testing.TB, to Sink) (*Session, *Push, *httptest.Server) {
	t.Helper()
	p := &Push{Name: "board", Token: token}
	s := opened(t, to, Options{})
	start(t, s, p)
	until(t, "the door to open", func() bool { return standing(s, "board").Connected })
	server := httptest.NewServer(p)
	t.Cleanup(server.Close)
	return s, p, server
}

func post(t testing.TB, url, body string, change func(*http.Request)) (int, answer) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+token)
	r.Header.Set("Content-Type", "application/json")
	if change != nil {
		change(r)
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	var a answer
	d := json.NewDecoder(res.Body)
	d.DisallowUnknownFields()
	if err := d.Decode(&a); err != nil {
		t.Fatal(err)
	}
	// As push.openapi.json has it: Kept, or else Refused.
	if kept := res.StatusCode == http.StatusOK; kept != (a.Kept > 0) || kept != (a.Last > 0) || kept == (a.Error != "") || res.Header.Get("Content-Type") != "application/json" {
		t.Errorf("%s is answered with %+v as %s", res.Status, a, res.Header.Get("Content-Type"))
	}
	return res.StatusCode, a
}

func TestABoardPushesReadings(t *testing.T) {
	to := &shelf{}
	_, _, server := door(t, to)
	code, a := post(t, server.URL, `{"values":{"illuminance":{"value":12.5,"unit":"lx"},"temperature":{"value":null,"unit":"°C"}}}`, nil)
	if code != 200 || a.Kept != 1 || a.Last != 1 {
		t.Fatalf("%d %+v", code, a)
	}
	code, a = post(t, server.URL, `[{"channel":"lux 2","values":{"illuminance":{"value":"9.9E37"}}},{"note":"lamp on"},{"values":{"v":{"value":1e38}}}]`, nil)
	if code != 200 || a.Kept != 3 || a.Last != 4 {
		t.Fatalf("%d %+v", code, a)
	}
	first, second := to.of("board")[0], to.of("lux 2")[0]
	if v := valueIn(t, &first, "illuminance"); *v.V != 12.5 || v.Unit != "lx" {
		t.Errorf("%+v", v)
	}
	if v := valueIn(t, &first, "temperature"); v.V != nil || v.Flag != noReading {
		t.Errorf("%+v", v)
	}
	if v := valueIn(t, &second, "illuminance"); v.V != nil || v.Flag != overRange || second.Raw == "" {
		t.Errorf("%+v", second)
	}
	third := to.of("board")[2]
	if v := valueIn(t, &third, "v"); v.V != nil || v.Flag != overRange {
		t.Errorf("%+v", v)
	}
}

func TestWhatTheDoorRefuses(t *testing.T) {
	to := &shelf{}
	s, _, server := door(t, to)
	good := `{"values":{"lux":{"value":1}}}`
	many := "[" + strings.Repeat(good+",", MostPushReadings) + good + "]"
	for name, tc := range map[string]struct {
		body   string
		change func(*http.Request)
		code   int
		says   string
	}{
		"wrong token":     {good, func(r *http.Request) { r.Header.Set("Authorization", "Bearer a-token-of-the-clu") }, 401, "Authorization: Bearer TOKEN"},
		"no token":        {good, func(r *http.Request) { r.Header.Del("Authorization") }, 401, "wrong or missing"},
		"another scheme":  {good, func(r *http.Request) { r.Header.Set("Authorization", "Basic "+token) }, 401, "wrong or missing"},
		"GET":             {good, func(r *http.Request) { r.Method = http.MethodGet }, 405, "by POST"},
		"a form":          {good, func(r *http.Request) { r.Header.Set("Content-Type", "text/plain") }, 415, "application/json"},
		"empty":           {"", nil, 400, "the request is empty"},
		"no JSON":         {`{"values":{"lux":{"value":NaN}}}`, nil, 400, "reading 1: this is no reading"},
		"unknown field":   {`{"valus":{}}`, nil, 400, "unknown field"},
		"no values":       {`[{"channel":"x"}]`, nil, 400, "neither values nor a note"},
		"no value":        {`{"values":{"lux":{}}}`, nil, 400, "send null"},
		"a list as value": {`{"values":{"lux":{"value":[1]}}}`, nil, 400, "neither a number nor a text"},
		"another case":    {`{"VALUES":{"lux":{"value":1}}}`, nil, 400, `unknown field "VALUES": there are channel, at, values, note`},
		"case in a value": {`{"values":{"lux":{"Value":1}}}`, nil, 400, `"lux": unknown field "Value"`},
		"a value twice":   {`{"values":{"lux":{"value":1},"lux":{"value":2}}}`, nil, 400, `"lux" comes twice`},
		"a field twice":   {`{"note":"a","note":"b"}`, nil, 400, `"note" comes twice`},
		"a number twice":  {`{"values":{"lux":{"value":1,"value":2}}}`, nil, 400, `"value" comes twice`},
		"no channel":      {`{"channel":7,"note":"x"}`, nil, 400, "the channel is no text"},
		"no time":         {`{"at":"noon","note":"x"}`, nil, 400, "2026-11-25T09:00:00Z"},
		"null":            {`[null]`, nil, 400, "an object in braces"},
		"empty list":      {`[]`, nil, 400, "1 to 10000 readings, not 0"},
		"too many":        {many, nil, 400, "not 10001"},
		"two at once":     {good + good, nil, 400, "send a list"},
		"bad channel":     {`{"channel":"../x","values":{"lux":{"value":1}}}`, nil, 400, "a channel with a name"},
		"too long":        {good + strings.Repeat(" ", MostPushBytes), nil, 413, "at most"},
	} {
		code, a := post(t, server.URL, tc.body, tc.change)
		if code != tc.code || !strings.Contains(a.Error, tc.says) || a.Kept != 0 || strings.Contains(a.Error, "notebook:") || strings.Contains(a.Error, "json:") {
			t.Errorf("%s: %d %q, want %d %q", name, code, a.Error, tc.code, tc.says)
		}
	}
	if n := len(to.all); n != 0 {
		t.Errorf("%d readings of refused requests were kept", n)
	}
	if !said(s, Trouble, "wrong token or none: 1 so far") {
		t.Error("the log does not show the wrong token")
	}
	for _, shown := range s.feed.ring {
		if strings.Contains(shown.Text, token) {
			t.Errorf("the log shows the token: %s", shown.Text)
		}
	}
}

func TestABoardWhoseClockWasNeverSetIsFlagged(t *testing.T) {
	to := &shelf{}
	s, _, server := door(t, to)
	for _, at := range []string{"0001-01-01T00:00:00Z", "1970-01-01T00:00:07Z", "9999-12-31T23:59:59Z"} {
		if code, a := post(t, server.URL, `{"at":"`+at+`","values":{"lux":{"value":1}}}`, nil); code != 200 {
			t.Errorf("%s: %d %s", at, code, a.Error)
		}
	}
	for i, want := range []string{clockBehind, clockBehind, clockAhead} {
		r := to.of("board")[i]
		if strings.Join(r.Flags, ", ") != want || r.At.Before(s.Clock().Start().Truncate(time.Microsecond)) || r.At.After(s.Clock().Now()) {
			t.Errorf("reading %d is of %s, flagged %v, want %s", i+1, r.At, r.Flags, want)
		}
	}
}

func TestAPauseAndAFullDiskAreAnsweredAsWhatTheyAre(t *testing.T) {
	to := &shelf{}
	s, _, server := door(t, to)
	good := `{"values":{"lux":{"value":1}}}`
	if err := s.Pause(t.Context(), true); err != nil {
		t.Fatal(err)
	}
	if code, a := post(t, server.URL, good, nil); code != 409 {
		t.Errorf("%d %+v", code, a)
	}
	if err := s.Pause(t.Context(), false); err != nil {
		t.Fatal(err)
	}
	to.setFail(errFull)
	if code, a := post(t, server.URL, good, nil); code != 503 || a.Kept != 0 {
		t.Errorf("%d %+v", code, a)
	}
	to.setFail(nil)
	if code, a := post(t, server.URL, good, nil); code != 200 || a.Kept != 1 {
		t.Errorf("%d %+v", code, a)
	}
	if n := len(to.of("board")); n != 1 {
		t.Errorf("%d readings were kept, 1 was acknowledged", n)
	}
	s.Stop("board")
	if code, _ := post(t, server.URL, good, nil); code != 503 {
		t.Errorf("a door whose source has ended answers %d", code)
	}
}

// Two boards with a token each at one address.
func TestATokenLeadsToItsSource(t *testing.T) {
	to := &shelf{}
	s := opened(t, to, Options{})
	all := Doors{{Name: "hall", Token: "a-token-for-the-hall"}, {Name: "yard", Token: "a-token-for-the-yard"}}
	for _, p := range all {
		start(t, s, p)
		until(t, "the door to open", func() bool { return standing(s, p.Name).Connected })
	}
	server := httptest.NewServer(all)
	defer server.Close()
	nobody := httptest.NewServer(Doors(nil))
	defer nobody.Close()
	for _, tc := range []struct {
		url, token string
		code       int
	}{
		{server.URL, all[0].Token, 200}, {server.URL, all[1].Token, 200}, {server.URL, token, 401}, {nobody.URL, all[0].Token, 503},
	} {
		code, a := post(t, tc.url, `{"note":"x"}`, func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+tc.token) })
		if code != tc.code || (a.Error == "") != (code == 200) {
			t.Errorf("%s: %d %+v, want %d", tc.token, code, a, tc.code)
		}
	}
	for _, p := range all {
		if n := len(to.of(p.Name)); n != 1 {
			t.Errorf("%s has %d readings", p.Name, n)
		}
	}
}

func TestADoorOfItsOwn(t *testing.T) {
	to := &shelf{}
	s := opened(t, to, Options{})
	p := &Push{Name: "board", Token: token, Listen: "127.0.0.1:0"}
	start(t, s, p)
	until(t, "the door to open", func() bool { return p.Addr() != nil })
	if code, _ := post(t, "http://"+p.Addr().String(), `{"note":"x"}`, nil); code != 200 {
		t.Errorf("%d", code)
	}
	for says, bad := range map[string]*Push{
		"16 printable characters": {Name: "board", Token: "short"},
		"host:port":               {Name: "board", Token: token, Listen: "8090"},
	} {
		if err := bad.Check(); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q", err, says)
		}
	}
}

// What the OpenAPI file says holds: its examples are taken, its limits are ours.
func TestTheOpenAPIFileIsTrue(t *testing.T) {
	raw, err := os.ReadFile("../../docs/format/push.openapi.json")
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Paths map[string]map[string]struct {
			RequestBody struct {
				Content map[string]struct {
					Examples map[string]struct {
						Value json.RawMessage `json:"value"`
					} `json:"examples"`
				} `json:"content"`
			} `json:"requestBody"`
			Responses map[string]any `json:"responses"`
		} `json:"paths"`
		Components struct {
			Schemas map[string]struct {
				MaxItems   int            `json:"maxItems"`
				Properties map[string]any `json:"properties"`
			} `json:"schemas"`
		} `json:"components"`
	}
	if err := json.Unmarshal(raw, &doc); err != nil {
		t.Fatal(err)
	}
	_, _, server := door(t, &shelf{})
	op := doc.Paths["/push"]["post"]
	examples := op.RequestBody.Content["application/json"].Examples
	if len(examples) == 0 {
		t.Fatal("the file has no examples")
	}
	for name, e := range examples {
		if code, a := post(t, server.URL, string(e.Value), nil); code != 200 {
			t.Errorf("example %s: %d %s", name, code, a.Error)
		}
	}
	for _, code := range []string{"200", "400", "401", "403", "405", "409", "413", "415", "421", "503"} {
		if op.Responses[code] == nil {
			t.Errorf("the answer %s is not described", code)
		}
	}
	pattern, ok := doc.Components.Schemas["Reading"].Properties["channel"].(map[string]any)["pattern"].(string)
	form, err := regexp.Compile(pattern)
	if err != nil || !ok {
		t.Fatal(err)
	}
	// A channel that is taken matches; of ASCII exactly those that are taken do.
	for c := range rune(0x500) {
		for _, name := range []string{string(c), "a" + string(c)} {
			r := notebook.Reading{Channel: name, At: time.Unix(1e9, 0)}
			if taken := r.Check() == nil; taken != form.MatchString(name) && (taken || c < 0x80) {
				t.Errorf("the channel %q is taken: %t, and the pattern says otherwise", name, taken)
			}
		}
	}
	if n := doc.Components.Schemas["Readings"].MaxItems; n != MostPushReadings {
		t.Errorf("a list has at most %d readings", n)
	}
	if !bytes.Contains(raw, fmt.Appendf(nil, "%d bytes", MostPushBytes)) {
		t.Error("the limit in bytes is not described")
	}
	for _, key := range []string{"channel", "at", "values", "note"} {
		if doc.Components.Schemas["Reading"].Properties[key] == nil {
			t.Errorf("%s is not described", key)
		}
	}
}

// pushers sends n readings from 8 boards, and returns how long it took.
func pushers(t testing.TB, url string, n, each int) time.Duration {
	t.Helper()
	body := `{"values":{"illuminance":{"value":356.5,"unit":"lx"}}}`
	if each > 1 {
		body = "[" + strings.Repeat(body+",", each-1) + body + "]"
	}
	began := time.Now()
	var left atomic.Int64
	left.Store(int64(n / each))
	var wait sync.WaitGroup
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 8}}
	for range 8 {
		wait.Go(func() {
			for left.Add(-1) >= 0 {
				r, err := http.NewRequest(http.MethodPost, url, strings.NewReader(body))
				if err != nil {
					t.Error(err)
					return
				}
				r.Header.Set("Authorization", "Bearer "+token)
				r.Header.Set("Content-Type", "application/json")
				res, err := client.Do(r)
				if err != nil {
					t.Error(err)
					return
				}
				io.Copy(io.Discard, res.Body)
				res.Body.Close()
				if res.StatusCode != 200 {
					t.Errorf("answered %s", res.Status)
				}
			}
		})
	}
	wait.Wait()
	client.CloseIdleConnections()
	return time.Since(began)
}

func TestEightBoardsLoseNothing(t *testing.T) {
	to := &shelf{}
	_, _, server := door(t, to)
	pushers(t, server.URL, 2000, 1)
	pushers(t, server.URL, 2000, 100)
	if n := len(to.of("board")); n != 4000 {
		t.Errorf("%d of 4000 readings were kept", n)
	}
}

func FuzzPush(f *testing.F) {
	for _, s := range []string{`{"values":{"lux":{"value":1}}}`, `[{"note":"x","at":"2026-11-25T09:00:00Z"}]`, `{"values":{"a":{"value":"OL"}}}`, `[`, `{}`, "null"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		if len(body) > 4096 {
			return
		}
		all, err := parsePush(body)
		if err == nil && len(all) == 0 {
			t.Error("neither readings nor a reason")
		}
		for i := range all {
			if all[i].Channel == "" {
				all[i].Channel = "board"
			}
			if all[i].At.IsZero() {
				all[i].At = time.Unix(1e9, 0)
			}
			for _, v := range all[i].Values {
				if v.V == nil && v.Flag == "" {
					t.Errorf("%q: a value has neither a number nor a flag", body)
				}
			}
			if err := all[i].Check(); err != nil && notebook.CodeOf(err) != notebook.Invalid {
				t.Error(err)
			}
		}
	})
}
