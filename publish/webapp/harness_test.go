package webapp

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
	"lampassay/bench/notebook/archive"
	"lampassay/bench/notebook/sqlite"
	"lampassay/bench/tidewater"
)

// bench is a notebook that is served, and a browser's client to it.
type bench struct {
	*testing.T
	nb     *sqlite.Store
	server *Server
	http   *httptest.Server
	client *http.Client
}

// testDraws are few: what the tests look at does not need more.
const testDraws = 200

func newBench(t *testing.T, change ...func(*Options)) *bench {
	t.Helper()
	nb, err := sqlite.Create(t.Context(), filepath.Join(t.TempDir(), "test.notebook"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := nb.Close(); err != nil {
			t.Error(err)
		}
	})
	b := serveNotebook(t, nb, change...)
	b.nb = nb
	return b
}

func serveNotebook(t *testing.T, nb notebook.Notebook, change ...func(*Options)) *bench {
	t.Helper()
	b := &bench{T: t}
	listen := httptest.NewUnstartedServer(nil)
	o := Options{Notebook: nb, Name: "Tidewater", Version: "test", Hosts: []string{listen.Listener.Addr().String()}, Draws: testDraws}
	for _, c := range change {
		c(&o)
	}
	var err error
	if b.server, err = New(o); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	listen.Config.BaseContext = baseContext(ctx)
	listen.Config.Handler = b.server.Handler()
	listen.Start()
	b.http = listen
	t.Cleanup(func() { stop(); listen.CloseClientConnections(); listen.Close() })
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	b.client = &http.Client{Jar: jar}
	return b
}

// answer is what came back, after redirections.
type answer struct {
	status int
	path   string // where it ended
	header http.Header
	body   string
}

func (b *bench) do(r *http.Request) answer {
	b.Helper()
	res, err := b.client.Do(r)
	if err != nil {
		b.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		b.Fatal(err)
	}
	return answer{res.StatusCode, res.Request.URL.RequestURI(), res.Header, string(body)}
}

func (b *bench) request(method, path string, body io.Reader) *http.Request {
	b.Helper()
	r, err := http.NewRequestWithContext(b.Context(), method, b.http.URL+path, body)
	if err != nil {
		b.Fatal(err)
	}
	return r
}

func (b *bench) get(path string) answer {
	b.Helper()
	return b.do(b.request("GET", path, nil))
}

// page is get for a page that has to be there.
func (b *bench) page(path string) string {
	b.Helper()
	a := b.get(path)
	if a.status != http.StatusOK {
		b.Fatalf("%s: %d\n%s", path, a.status, textOf(a.body))
	}
	return a.body
}

// post sends a form with the token of this run.
func (b *bench) post(path string, fields url.Values) answer {
	b.Helper()
	if fields == nil {
		fields = url.Values{}
	}
	if !fields.Has("token") {
		fields.Set("token", b.server.guard.token)
	}
	r := b.request("POST", path, strings.NewReader(fields.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.do(r)
}

// must is post that has to succeed.
func (b *bench) must(path string, fields url.Values) answer {
	b.Helper()
	a := b.post(path, fields)
	if a.status != http.StatusOK {
		b.Fatalf("POST %s: %d\n%s", path, a.status, textOf(a.body))
	}
	return a
}

// upload sends a file.
func (b *bench) upload(path, name string, content []byte, fields url.Values) answer {
	b.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	f, err := m.CreateFormFile("file", name)
	if err == nil {
		_, err = f.Write(content)
	}
	err = errors.Join(err, m.WriteField("token", b.server.guard.token))
	for k := range fields {
		err = errors.Join(err, m.WriteField(k, fields.Get(k)))
	}
	if err := errors.Join(err, m.Close()); err != nil {
		b.Fatal(err)
	}
	r := b.request("POST", path, &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return b.do(r)
}

var tags = regexp.MustCompile(`(?s)<(script|style|svg).*?</(script|style|svg)>|<[^>]*>`)

// textOf is what a page says.
func textOf(page string) string {
	return strings.Join(strings.Fields(tags.ReplaceAllString(page, " ")), " ")
}

// importLamp takes a club lamp's file through the pages and returns its assay.
func (b *bench) importLamp(l tidewater.Lamp) notebook.ID {
	b.Helper()
	var file bytes.Buffer
	if err := l.Write(&file); err != nil {
		b.Fatal(err)
	}
	seen := b.upload("/import", l.FileName, file.Bytes(), nil)
	if seen.status != http.StatusOK {
		b.Fatalf("%s: %d %s", l.FileName, seen.status, textOf(seen.body))
	}
	fields := url.Values{"name": {l.FileName}, "new_lamp": {l.Name}, "technology": {l.Technology}, "luminous_flux": {plain(l.FluxLm)}, "power": {plain(l.PowerMainsW)}}
	if l.PowerLampW > 0 {
		fields.Set("power_lamp", plain(l.PowerLampW))
	}
	path, _, _ := strings.Cut(seen.path, "?")
	made := b.must(path, fields)
	return b.numberIn(made.path, `^/assays/(\d+)`)
}

func (b *bench) numberIn(path, pattern string) notebook.ID {
	b.Helper()
	m := regexp.MustCompile(pattern).FindStringSubmatch(path)
	if m == nil {
		b.Fatalf("the browser is at %s", path)
	}
	n, err := strconv.ParseInt(m[1], 10, 64)
	if err != nil {
		b.Fatal(err)
	}
	return notebook.ID(n)
}

// club fills the notebook with the first so many of the club's lamps.
func (b *bench) club(n int) (assays []notebook.ID) {
	b.Helper()
	for _, l := range tidewater.Lamps()[:n] {
		assays = append(assays, b.importLamp(l))
	}
	return assays
}

func want(t *testing.T, page string, parts ...string) {
	t.Helper()
	text := textOf(page)
	for _, p := range parts {
		if !strings.Contains(text, p) {
			t.Errorf("the page does not say %q: %s", p, fmt.Sprintf("%.1500s", text))
		}
	}
}

// importedFrom makes a notebook of an archive.
func importedFrom(t *testing.T, zip string) *sqlite.Store {
	t.Helper()
	path := filepath.Join(t.TempDir(), "copy.notebook")
	if _, err := sqlite.Import(t.Context(), path, strings.NewReader(zip), int64(len(zip)), archive.Limits{}); err != nil {
		t.Fatal(err)
	}
	nb, err := sqlite.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := nb.Close(); err != nil {
			t.Error(err)
		}
	})
	return nb
}

// warming records the light and the power of a lamp that warms up: an exponential
// approach, one reading a second for 45 minutes. Invented.
func warming(b *bench, sitting notebook.ID) {
	b.Helper()
	start := time.Now().UTC().Add(-45 * time.Minute)
	var readings []notebook.Reading
	for s := range 45 * 60 {
		settle := 1 - math.Exp(-float64(s)/240)
		lux, watts := math.Round(10*(35+385*settle))/10, math.Round(100*(58-12.4*settle))/100
		at := start.Add(time.Duration(s) * time.Second)
		readings = append(readings,
			notebook.Reading{At: at, Channel: "lux", Values: []notebook.Value{{Key: "illuminance", V: &lux, Unit: "lx"}}},
			notebook.Reading{At: at, Channel: "mains", Values: []notebook.Value{{Key: "power", V: &watts, Unit: "W"}}})
	}
	if _, err := b.nb.Append(b.Context(), sitting, readings); err != nil {
		b.Fatal(err)
	}
}
