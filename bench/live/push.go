package live

import (
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"mime"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"lampassay/bench/notebook"
)

// Push takes readings that a board sends by HTTP, as docs/format/push.openapi.json
// describes. It is a handler to be mounted somewhere (POST only), or has a door of
// its own at Listen. It answers when the readings are kept, so what was answered by
// 200 is safe, and what was not is to be sent again.
type Push struct {
	Name   string `json:"channel"`          // of readings that name none
	Token  string `json:"token"`            // 16 characters or more
	Listen string `json:"listen,omitempty"` // host:port; empty where it is mounted elsewhere

	desk    atomic.Pointer[deskOf]
	refused atomic.Int64
	bound   atomic.Pointer[net.TCPAddr]
}

// deskOf is a desk for as long as its source runs.
type deskOf struct {
	*Desk
	ctx context.Context
}

// Limits of one request.
const (
	MostPushBytes    = 4 << 20
	MostPushReadings = 10000
	leastToken       = 16
	pushTimeout      = 10 * time.Second
)

// Channel returns the name.
func (p *Push) Channel() string { return p.Name }

// Check asks for a token that is worth having.
func (p *Push) Check() error {
	if len(p.Token) < leastToken || strings.ContainsFunc(p.Token, func(r rune) bool { return r <= ' ' || r > '~' }) {
		return fmt.Errorf("live: %s: the token needs %d printable characters or more, without spaces", p.Name, leastToken)
	}
	if p.Listen != "" {
		if _, _, err := net.SplitHostPort(p.Listen); err != nil {
			return fmt.Errorf("live: %s: %q is no address to listen at: write host:port, such as 127.0.0.1:8090", p.Name, p.Listen)
		}
	}
	return nil
}

// Addr is where the source listens, nil where it does not.
func (p *Push) Addr() *net.TCPAddr { return p.bound.Load() }

// Run lets readings in until the context ends.
func (p *Push) Run(ctx context.Context, d *Desk) error {
	p.desk.Store(&deskOf{d, ctx})
	defer p.desk.Store(nil)
	if p.Listen == "" {
		d.Connected(true)
		<-ctx.Done()
		return nil
	}
	var lc net.ListenConfig
	listener, err := lc.Listen(ctx, "tcp", p.Listen)
	if err != nil {
		return fmt.Errorf("live: nobody can be heard at %s: %w", p.Listen, err)
	}
	if a, ok := listener.Addr().(*net.TCPAddr); ok {
		p.bound.Store(a)
	}
	defer p.bound.Store(nil)
	server := &http.Server{
		Handler: p, ReadHeaderTimeout: pushTimeout, ReadTimeout: 3 * pushTimeout, WriteTimeout: 3 * pushTimeout,
		IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 16 << 10,
	}
	d.Connected(true)
	d.Note("readings are taken at http://%s", listener.Addr())
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(listener) }()
	select {
	case err := <-ended:
		return fmt.Errorf("live: nobody is heard at %s any more: %w", p.Listen, err)
	case <-ctx.Done():
		// Who is being answered is answered.
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), pushTimeout)
		defer cancel()
		if err := server.Shutdown(last); err != nil {
			server.Close()
		}
		<-ended
		return nil
	}
}

// pushed is a reading as it is sent.
type pushed struct {
	Channel string                 `json:"channel"`
	At      *time.Time             `json:"at"`
	Values  map[string]pushedValue `json:"values"`
	Note    string                 `json:"note"`
}

type pushedValue struct {
	Value json.RawMessage `json:"value"`
	Unit  string          `json:"unit"`
}

// answer is what a board gets back.
type answer struct {
	Kept  int    `json:"kept"`
	Last  int64  `json:"last,omitempty"`
	Error string `json:"error,omitempty"`
}

// ServeHTTP takes one request.
func (p *Push) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	code, a := p.serve(w, r)
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(code)
	json.NewEncoder(w).Encode(a)
}

func (p *Push) serve(w http.ResponseWriter, r *http.Request) (int, answer) {
	no := func(code int, format string, args ...any) (int, answer) {
		return code, answer{Error: fmt.Sprintf(format, args...)}
	}
	desk := p.desk.Load()
	if desk == nil {
		return no(http.StatusServiceUnavailable, "nothing is being recorded")
	}
	if r.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		return no(http.StatusMethodNotAllowed, "readings are sent by POST")
	}
	if !p.admits(r.Header.Get("Authorization")) {
		// Someone who guesses fills no log.
		if n := p.refused.Add(1); n&(n-1) == 0 {
			desk.Trouble("requests with a wrong token or none: %d so far, the latest from %s", n, host(r.RemoteAddr))
		}
		w.Header().Set("WWW-Authenticate", "Bearer")
		return no(http.StatusUnauthorized, "the token is wrong or missing: send it as \"Authorization: Bearer TOKEN\"")
	}
	if media, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || media != "application/json" {
		return no(http.StatusUnsupportedMediaType, "readings are application/json")
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, MostPushBytes))
	var long *http.MaxBytesError
	if errors.As(err, &long) {
		desk.Trouble("a request of more than %d bytes was refused", int(MostPushBytes))
		return no(http.StatusRequestEntityTooLarge, "a request holds at most %d bytes: send fewer readings at once", int(MostPushBytes))
	} else if err != nil {
		return no(http.StatusBadRequest, "the request broke off")
	}
	readings, err := parsePush(body)
	if err != nil {
		desk.Trouble("a request was refused: %v", err)
		return no(http.StatusBadRequest, "%s", plain(err.Error()))
	}
	for i := range readings {
		if !readings[i].At.IsZero() {
			readings[i].At = desk.s.clock.Of(readings[i].At)
		}
	}
	ctx, cancel := context.WithTimeout(r.Context(), pushTimeout)
	defer cancel()
	last, err := desk.Put(ctx, readings)
	switch {
	case errors.Is(err, ErrPaused):
		return no(http.StatusConflict, "recording is paused: send again later")
	case notebook.CodeOf(err) == notebook.Invalid:
		desk.Trouble("a request was refused: %v", err)
		return no(http.StatusBadRequest, "%s", plain(err.Error()))
	case err != nil:
		return no(http.StatusServiceUnavailable, "the readings are not known to be kept: send again")
	}
	return http.StatusOK, answer{Kept: len(readings), Last: last}
}

// admits compares tokens by their sums, in a time that does not depend on where
// they differ or how long they are.
func (p *Push) admits(header string) bool {
	scheme, token, _ := strings.Cut(header, " ")
	given, right := sha256.Sum256([]byte(token)), sha256.Sum256([]byte(p.Token))
	return subtle.ConstantTimeCompare(given[:], right[:]) == 1 && strings.EqualFold(scheme, "bearer")
}

func host(addr string) string {
	if h, _, err := net.SplitHostPort(addr); err == nil {
		return h
	}
	return addr
}

// parsePush reads one reading or a list of them.
func parsePush(body []byte) ([]notebook.Reading, error) {
	body = bytes.TrimSpace(body)
	if len(body) == 0 {
		return nil, errors.New("the request is empty: send a reading or a list of readings")
	}
	var rows []json.RawMessage
	if body[0] != '[' {
		rows = []json.RawMessage{body}
	} else if err := json.Unmarshal(body, &rows); err != nil {
		return nil, fmt.Errorf("this is no JSON: %w", err)
	}
	if len(rows) == 0 || len(rows) > MostPushReadings {
		return nil, fmt.Errorf("a request holds 1 to %d readings, not %d", MostPushReadings, len(rows))
	}
	all := make([]notebook.Reading, len(rows))
	for i, row := range rows {
		r, err := parseReading(row)
		if err != nil {
			return nil, fmt.Errorf("reading %d: %w", i+1, err)
		}
		all[i] = r
	}
	return all, nil
}

// parseReading reads one reading. JSON knows no NaN: a value may be a text, and is
// then read as a meter's is. The reading keeps what was sent.
func parseReading(row json.RawMessage) (notebook.Reading, error) {
	var sent pushed
	d := json.NewDecoder(bytes.NewReader(row))
	d.DisallowUnknownFields()
	if err := d.Decode(&sent); err != nil {
		return notebook.Reading{}, fmt.Errorf("this is no reading: %w", err)
	}
	if d.More() {
		return notebook.Reading{}, errors.New("something follows the reading: send a list as [...]")
	}
	if len(sent.Values) == 0 && sent.Note == "" {
		return notebook.Reading{}, errors.New("there are neither values nor a note")
	}
	r := notebook.Reading{Channel: sent.Channel, Note: sent.Note, Raw: string(row)}
	if sent.At != nil {
		// A clock that was never set may say year 1, which here is no time at all.
		r.At = later(*sent.At, time.Unix(0, 0))
	}
	for _, key := range slices.Sorted(maps.Keys(sent.Values)) {
		v, err := sent.Values[key].read(key)
		if err != nil {
			return notebook.Reading{}, err
		}
		r.Values = append(r.Values, v)
	}
	return r, nil
}

func later(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}

func (p pushedValue) read(key string) (notebook.Value, error) {
	var text string
	var x float64
	switch {
	case len(p.Value) == 0:
		return notebook.Value{}, fmt.Errorf("%s has no value: send null where there is none", short(key))
	case string(p.Value) == "null":
		return notebook.Value{Key: key, Unit: p.Unit, Flag: noReading}, nil
	case json.Unmarshal(p.Value, &text) == nil:
		return valueOf(key, p.Unit, text, false), nil
	case json.Unmarshal(p.Value, &x) == nil:
		v := notebook.Value{Key: key, Unit: p.Unit}
		v.V, v.Flag = number(x)
		return v, nil
	}
	return notebook.Value{}, fmt.Errorf("the value of %s is neither a number nor a text nor null", short(key))
}
