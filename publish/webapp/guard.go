package webapp

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/crypto/bcrypt"
)

// policy is what a page may do: load from here, and nothing that stands in the
// page itself.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard decides who is heard.
type guard struct {
	hosts  []string // as requests name them; nil for any address of digits
	token  string   // that forms carry
	origin *http.CrossOriginProtection

	hash     []byte // of the password; nil where none is needed
	mu       sync.Mutex
	sessions map[string]time.Time // by token, until when
	knocks   *knocks
	now      func() time.Time
}

// sessionCookie names the cookie; without a password there is none.
const (
	sessionCookie  = "lampassay-session"
	sessionLasts   = 12 * time.Hour
	mostSessions   = 256
	mostPassword   = 72 // bytes: bcrypt takes no more
	shortest       = 10
	passwordEffort = 11 // a try costs about a tenth of a second
)

// CheckPassword says what is wrong with a password, nil where it will do.
func CheckPassword(password string) error {
	switch n := len(password); {
	case n < shortest:
		return fmt.Errorf("webapp: the password has %d characters: take at least %d, it is all that stands before the notebook", n, shortest)
	case n > mostPassword:
		return fmt.Errorf("webapp: the password has %d bytes: at most %d are taken", n, mostPassword)
	}
	return nil
}

func newGuard(o *Options) (*guard, error) {
	g := &guard{hosts: o.Hosts, token: rand.Text(), origin: http.NewCrossOriginProtection(), knocks: newKnocks(), sessions: map[string]time.Time{}, now: o.Now}
	if o.Password == "" {
		return g, nil
	}
	if err := CheckPassword(o.Password); err != nil {
		return nil, err
	}
	var err error
	g.hash, err = bcrypt.GenerateFromPassword([]byte(o.Password), passwordEffort)
	return g, err
}

// protect sets the headers of every answer and turns away what does not ask for
// this server.
func (g *guard) protect(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		if !g.knows(r.Host) {
			turnAway(w, r, http.StatusMisdirectedRequest, "This notebook does not go by that name. Open the address that \"lampassay open\" printed.")
			return
		}
		if err := g.origin.Check(r); err != nil || !g.sameSite(r) {
			turnAway(w, r, http.StatusForbidden, "This came from another site's page and was not carried out.")
			return
		}
		next.ServeHTTP(w, r)
	})
}

// knows reports whether a request's host is one the server goes by. An address
// of digits can't be rebound, so it will do wherever the server listens beyond
// this machine.
func (g *guard) knows(host string) bool {
	if slices.Contains(g.hosts, strings.ToLower(host)) {
		return true
	}
	if g.hash == nil {
		return false
	}
	name, _, err := net.SplitHostPort(host)
	if err != nil {
		name = host
	}
	_, err = netip.ParseAddr(strings.Trim(name, "[]"))
	return err == nil
}

// sameSite turns away what another site's page fetches, also by GET: its reader
// would learn nothing, but could make the server work.
func (g *guard) sameSite(r *http.Request) bool {
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
		return true
	}
	return r.Method == http.MethodGet && r.Header.Get("Sec-Fetch-Mode") == "navigate" && r.Header.Get("Sec-Fetch-Dest") == "document"
}

// carries reports whether a form has the token of this run.
func (g *guard) carries(token string) bool {
	return subtle.ConstantTimeCompare([]byte(token), []byte(g.token)) == 1
}

// needSession sends those without a session to the door.
func (g *guard) needSession(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if g.inside(r) {
			next.ServeHTTP(w, r)
			return
		}
		if r.Method == http.MethodGet && r.Header.Get("Sec-Fetch-Mode") != "cors" {
			http.Redirect(w, r, "/enter", http.StatusSeeOther)
			return
		}
		http.Error(w, "Enter the password first.", http.StatusUnauthorized)
	})
}

func (g *guard) inside(r *http.Request) bool {
	if g.hash == nil {
		return true
	}
	c, err := r.Cookie(sessionCookie)
	if err != nil {
		return false
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	until, has := g.sessions[c.Value]
	return has && g.now().Before(until)
}

// admit opens a session for whoever had the right password.
func (g *guard) admit(w http.ResponseWriter) {
	var raw [32]byte
	rand.Read(raw[:]) // never fails
	id := base64.RawURLEncoding.EncodeToString(raw[:])
	g.mu.Lock()
	defer g.mu.Unlock()
	for old, until := range g.sessions {
		if !g.now().Before(until) || len(g.sessions) >= mostSessions {
			delete(g.sessions, old)
		}
	}
	g.sessions[id] = g.now().Add(sessionLasts)
	http.SetCookie(w, &http.Cookie{Name: sessionCookie, Value: id, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode, MaxAge: int(sessionLasts.Seconds())})
}

func (g *guard) dismiss(w http.ResponseWriter, r *http.Request) {
	if c, err := r.Cookie(sessionCookie); err == nil {
		g.mu.Lock()
		delete(g.sessions, c.Value)
		g.mu.Unlock()
	}
	http.SetCookie(w, &http.Cookie{Name: sessionCookie, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode, MaxAge: -1})
}
