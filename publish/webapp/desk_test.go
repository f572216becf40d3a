package webapp

import (
	"encoding/json"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

const (
	hallToken = "invented-token-of-the-hall"
	yardToken = "invented-token-of-the-yard"
	twoBoards = `{"sources": [{"kind": "push", "channel": "hall", "token": "` + hallToken + `"},
		{"kind": "push", "channel": "yard", "offset_s": 1.5, "token": "` + yardToken + `"}]}`
)

// listening is a bench with two boards that are read for sitting 1.
func listening(t *testing.T) *bench {
	t.Helper()
	b := newBench(t, func(o *Options) { o.SetUp = []byte(twoBoards) })
	t.Cleanup(func() {
		if err := b.server.Close(); err != nil {
			t.Error(err)
		}
	})
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	b.must("/sittings/1/listen", url.Values{"do": {"start"}})
	return b
}

// pushes sends what a board would.
func (b *bench) pushes(token, body string, change func(*http.Request)) answer {
	b.Helper()
	r := b.request("POST", "/push", strings.NewReader(body))
	r.Header.Set("Authorization", "Bearer "+token)
	r.Header.Set("Content-Type", "application/json")
	if change != nil {
		change(r)
	}
	return b.do(r)
}

// TestEveryAnswerToABoardIsAsDescribed asks for each status that the OpenAPI file
// lists, at the path that it gives, and looks at the answer's form.
func TestTimesThatRunFasterAreSaidToDoSo(t *testing.T) {
	const board = `"sources": [{"kind": "push", "channel": "board", "token": "invented-token-of-the-club"}]}`
	for setUp, said := range map[string]bool{`{"rate": 60, ` + board: true, `{` + board: false} {
		b := newBench(t, func(o *Options) { o.SetUp = []byte(setUp) })
		b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
		page := b.must("/sittings", url.Values{"lamp": {"1"}}).body
		if strings.Contains(page, "Times run 60 times as fast.") != said {
			t.Errorf("with %s the page says so: %v", setUp, !said)
		}
	}
}

func TestEveryAnswerToABoardIsAsDescribed(t *testing.T) {
	raw, err := os.ReadFile("../../docs/format/push.openapi.json")
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Paths map[string]map[string]struct {
			Responses map[string]struct {
				Content map[string]struct {
					Schema struct {
						Ref string `json:"$ref"`
					} `json:"schema"`
				} `json:"content"`
			} `json:"responses"`
		} `json:"paths"`
		Components struct {
			Schemas map[string]struct {
				Required   []string                   `json:"required"`
				Properties map[string]json.RawMessage `json:"properties"`
			} `json:"schemas"`
		} `json:"components"`
	}
	if err := json.Unmarshal(raw, &doc); err != nil {
		t.Fatal(err)
	}
	const good = `{"values": {"illuminance": {"value": 123.5, "unit": "lx"}}}`
	b := listening(t)
	listen := func(do string) func() { return func() { b.must("/sittings/1/listen", url.Values{"do": {do}}) } }
	cases := []struct {
		status int
		body   string
		change func(*http.Request)
		before func()
	}{
		{200, good, nil, nil},
		{400, `{"values": {}}`, nil, nil},
		{401, good, func(r *http.Request) { r.Header.Del("Authorization") }, nil},
		{403, good, func(r *http.Request) { r.Header.Set("Origin", "http://elsewhere.example") }, nil},
		{405, good, func(r *http.Request) { r.Method = "PUT" }, nil},
		{413, good + strings.Repeat(" ", live.MostPushBytes), nil, nil},
		{415, good, func(r *http.Request) { r.Header.Set("Content-Type", "text/plain") }, nil},
		{421, good, func(r *http.Request) { r.Host = "elsewhere.example" }, nil},
		{409, good, nil, listen("pause")},
		{503, good, nil, listen("stop")},
	}
	described := doc.Paths["/push"]["post"].Responses
	if len(described) != len(cases) {
		t.Errorf("%d answers are described, %d are asked for", len(described), len(cases))
	}
	for _, tc := range cases {
		if tc.before != nil {
			tc.before()
		}
		a := b.pushes(hallToken, tc.body, tc.change)
		if a.status != tc.status || a.header.Get("Content-Type") != "application/json" {
			t.Errorf("%d %s, want %d as JSON: %s", a.status, a.header.Get("Content-Type"), tc.status, a.body)
		}
		ref := described[strconv.Itoa(tc.status)].Content["application/json"].Schema.Ref
		schema, is := doc.Components.Schemas[strings.TrimPrefix(ref, "#/components/schemas/")]
		var got map[string]json.RawMessage
		if err := json.Unmarshal([]byte(a.body), &got); err != nil || !is {
			t.Errorf("%d is described as %q: %s", tc.status, ref, a.body)
		}
		for _, key := range schema.Required {
			if got[key] == nil {
				t.Errorf("%d is without %s: %s", tc.status, key, a.body)
			}
		}
		for key := range got {
			if schema.Properties[key] == nil {
				t.Errorf("%d has %s, which is not described: %s", tc.status, key, a.body)
			}
		}
	}
	if a := b.pushes(hallToken, good, func(r *http.Request) { r.Method, r.Body, r.ContentLength = "GET", nil, 0 }); a.status != 405 || a.header.Get("Allow") != "POST" {
		t.Errorf("GET is answered with %d", a.status)
	}
}

func TestEachBoardsTokenLetsItIn(t *testing.T) {
	b := listening(t)
	for _, token := range []string{hallToken, yardToken} {
		if a := b.pushes(token, `{"note": "a train passed"}`, nil); a.status != http.StatusOK {
			t.Errorf("%s: %d %s", token, a.status, a.body)
		}
	}
	var by []string
	for reading, err := range b.nb.Readings(t.Context(), notebook.Readings{Sitting: 1}) {
		if err != nil {
			t.Fatal(err)
		}
		by = append(by, reading.Channel+": "+reading.Note)
	}
	if got := strings.Join(by, ", "); got != "bench: times of yard: +1.500 s from here on, hall: a train passed, yard: a train passed" {
		t.Errorf("the record is %s", got)
	}
}

func TestAClocksOffsetIsSetOnThePage(t *testing.T) {
	b := listening(t)
	want(t, b.page("/sittings/1"), "its times moved by 1.5 s", "Use it from now on")
	for name, tc := range map[string]struct{ channel, seconds, says string }{
		"nobody":   {"moon", "1", "No instrument that is read goes by the name “moon”"},
		"none":     {"hall", "", "Write how many seconds are added, 0 for none."},
		"words":    {"hall", "late", "“late” is no number for an offset"},
		"too much": {"hall", "1e9", "The offset of a clock is from -86400 to 86400 s"},
	} {
		a := b.post("/sittings/1/listen", url.Values{"do": {"offset"}, "channel": {tc.channel}, "seconds": {tc.seconds}})
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(a.body, tc.says) || !strings.Contains(a.body, `value="`+tc.seconds+`"`) {
			t.Errorf("%s: %d, without %q or what was typed", name, a.status, tc.says)
		}
	}
	b.must("/sittings/1/listen", url.Values{"do": {"offset"}, "channel": {"hall"}, "seconds": {"−2,5"}})
	want(t, b.page("/sittings/1"), "its times moved by -2.5 s", "times of hall: -2.500 s from here on")
	b.must("/sittings/1/listen", url.Values{"do": {"offset"}, "channel": {"hall"}, "seconds": {"0"}})
	if page := b.page("/sittings/1"); strings.Contains(page, "-2.5 s</li>") || !strings.Contains(page, "times of hall: &#43;0.000 s from here on") {
		t.Error("0 does not take an offset back")
	}
}

func TestAnInstrumentThatCannotBeReadIsNamedInASentence(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "drops")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	setUp, err := json.Marshal(map[string]any{"sources": []any{map[string]any{"kind": "folder", "channel": "spectrometer", "path": folder}}})
	if err != nil {
		t.Fatal(err)
	}
	b := newBench(t, func(o *Options) { o.SetUp = setUp })
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	if err := os.Remove(folder); err != nil {
		t.Fatal(err)
	}
	a := b.post("/sittings/1/listen", url.Values{"do": {"start"}})
	if a.status != http.StatusUnprocessableEntity {
		t.Errorf("it is answered with %d", a.status)
	}
	want(t, a.body, "The set-up of the bench, source 1: spectrometer: the folder cannot be watched: ")
}
