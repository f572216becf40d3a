package webapp

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/netip"
	"strconv"
	"sync"
	"time"

	"golang.org/x/crypto/bcrypt"
)

// How fast passwords may be tried from one address: a burst, and then one at a time.
const (
	knockBurst   = 10
	knockRest    = 2 * time.Second
	mostKnockers = 1024 // addresses remembered
)

// knocks bounds how passwords are tried, so that whoever guesses keeps neither the
// machine busy nor others out.
type knocks struct {
	mu   sync.Mutex
	from map[netip.Prefix]*knocker
	turn chan struct{} // one password is computed at a time
}

// knocker is an address from which passwords are tried.
type knocker struct {
	left float64 // tries
	at   time.Time
	turn chan struct{} // its tries stand in a line of their own
}

func newKnocks() *knocks {
	return &knocks{from: map[netip.Prefix]*knocker{}, turn: make(chan struct{}, 1)}
}

// addressOf is what a request's sender is known by: of IPv6 the network, since whoever
// has one address has all of it.
func addressOf(r *http.Request) netip.Prefix {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Prefix{} // one line for all that cannot be told apart
	}
	ip, bits := at.Addr().Unmap(), 32
	if ip.Is6() {
		bits = 64
	}
	network, err := ip.WithZone("").Prefix(bits)
	if err != nil {
		return netip.Prefix{}
	}
	return network
}

// admit takes one try from an address, or says how long the next has to wait.
func (k *knocks) admit(from netip.Prefix, now time.Time) (*knocker, time.Duration) {
	k.mu.Lock()
	defer k.mu.Unlock()
	one := k.from[from]
	if one == nil {
		k.makeRoom(now)
		one = &knocker{left: knockBurst, at: now, turn: make(chan struct{}, 1)}
		k.from[from] = one
	}
	one.left, one.at = one.tries(now), now
	if one.left < 1 {
		return one, time.Duration((1 - one.left) * float64(knockRest))
	}
	one.left--
	return one, 0
}

// tries are those that an address has at a time.
func (o *knocker) tries(now time.Time) float64 {
	return min(o.left+max(now.Sub(o.at).Seconds(), 0)/knockRest.Seconds(), knockBurst)
}

// makeRoom forgets addresses that have all their tries, and where that is not enough
// any one.
func (k *knocks) makeRoom(now time.Time) {
	if len(k.from) < mostKnockers {
		return
	}
	for at, one := range k.from {
		if one.tries(now) >= knockBurst {
			delete(k.from, at)
		}
	}
	for at := range k.from {
		if len(k.from) < mostKnockers {
			return
		}
		delete(k.from, at)
	}
}

// giveBack returns the try that the right password took.
func (k *knocks) giveBack(one *knocker) {
	k.mu.Lock()
	one.left++
	k.mu.Unlock()
}

// take waits for a place in a line of one.
func take(ctx context.Context, line chan struct{}) (leave func(), err error) {
	select {
	case line <- struct{}{}:
		return func() { <-line }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// opens reports whether a password is the right one, or how long to wait before
// another is tried from there.
func (g *guard) opens(r *http.Request, password string) (ok bool, wait time.Duration, err error) {
	one, wait := g.knocks.admit(addressOf(r), g.now())
	if wait > 0 {
		return false, wait, nil
	}
	for _, line := range []chan struct{}{one.turn, g.knocks.turn} {
		leave, err := take(r.Context(), line)
		if err != nil {
			return false, 0, err
		}
		defer leave()
	}
	ok = len(password) <= mostPassword && bcrypt.CompareHashAndPassword(g.hash, []byte(password)) == nil
	if ok {
		g.knocks.giveBack(one)
	}
	return ok, 0, nil
}

// enterForm is the door.
func (s *Server) enterForm(w http.ResponseWriter, r *http.Request) error {
	if s.guard.inside(r) {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	return s.write(w, http.StatusOK, "enter.html", s.view(r, "Enter"))
}

func (s *Server) enter(w http.ResponseWriter, r *http.Request) error {
	if s.guard.hash == nil {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	ok, wait, err := s.guard.opens(r, r.PostFormValue("password"))
	switch {
	case err != nil:
		return err
	case ok:
		s.guard.admit(w)
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	v := s.view(r, "Enter")
	if wait == 0 {
		v.Data = "That is not the password."
		return s.write(w, http.StatusForbidden, "enter.html", v)
	}
	seconds := int(math.Ceil(wait.Seconds()))
	w.Header().Set("Retry-After", strconv.Itoa(seconds))
	v.Data = fmt.Sprintf("Too many wrong passwords came from your address. This one was not looked at: send it again in %s.", count(seconds, "second", "seconds"))
	return s.write(w, http.StatusTooManyRequests, "enter.html", v)
}

func (s *Server) leave(w http.ResponseWriter, r *http.Request) error {
	s.guard.dismiss(w, r)
	http.Redirect(w, r, "/enter", http.StatusSeeOther)
	return nil
}
