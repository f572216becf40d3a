package live

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net"
	"net/http"
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
	d.Note("readings are taken at http://%s/push", listener.Addr())
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

// answer is what a board gets back.
type answer struct {
	Kept  int    `json:"kept"`
	Last  int64  `json:"last,omitempty"`
	Error string `json:"error,omitempty"`
}

// ServeHTTP takes one request.
func (p *Push) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	code, a := p.serve(w, r)
	a.write(w, code)
}

func (a answer) write(w http.ResponseWriter, code int) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(code)
	json.NewEncoder(w).Encode(a)
}

// RefusePush turns a request away before a [Push] sees it, as one would.
func RefusePush(w http.ResponseWriter, code int, sentence string) {
	answer{Error: sentence}.write(w, code)
}

// Doors are sources at one address. A request is for the one whose token it carries;
// where there is none the first says so.
type Doors []*Push

// ServeHTTP takes one request.
func (all Doors) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	at := &Push{} // which records nothing
	if len(all) > 0 {
		at = all[0]
	}
	for _, p := range all {
		if p.admits(r.Header.Get("Authorization")) {
			at = p
		}
	}
	at.ServeHTTP(w, r)
}

func (p *Push) serve(w http.ResponseWriter, r *http.Request) (int, answer) {
	no := func(code int, format string, args ...any) (int, answer) {
		return code, answer{Error: fmt.Sprintf(format, args...)}
	}
	if r.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		return no(http.StatusMethodNotAllowed, "readings are sent by POST")
	}
	desk := p.desk.Load()
	if desk == nil {
		return no(http.StatusServiceUnavailable, "nothing is being recorded")
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
