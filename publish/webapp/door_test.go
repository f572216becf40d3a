package webapp

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"
)

const signalBox = "Signal box at dusk"

// guarded is a guard with a clock of its own.
func guarded(t *testing.T) (g *guard, clock *time.Time) {
	t.Helper()
	clock = new(time.Time)
	*clock = time.Date(2026, 11, 25, 20, 0, 0, 0, time.UTC)
	g, err := newGuard(&Options{Password: signalBox, Now: func() time.Time { return *clock }})
	if err != nil {
		t.Fatal(err)
	}
	return g, clock
}

// knockFrom tries a password.
func knockFrom(ctx context.Context, g *guard, address, password string) (ok bool, wait time.Duration, err error) {
	r := httptest.NewRequestWithContext(ctx, "POST", "/enter", nil)
	r.RemoteAddr = net.JoinHostPort(address, "50000")
	return g.opens(r, password)
}

func TestGuessingFromOneAddressIsSlowedAndNobodyElseIs(t *testing.T) {
	g, clock := guarded(t)
	try := func(address, password string, wantOK, wantWait bool) {
		t.Helper()
		ok, wait, err := knockFrom(t.Context(), g, address, password)
		if err != nil || ok != wantOK || (wait > 0) != wantWait {
			t.Fatalf("%q from %s: it opens: %t, after %v (%v)", password, address, ok, wait, err)
		}
	}
	for range knockBurst {
		try("192.0.2.7", "steam", false, false)
	}
	try("192.0.2.7", "steam", false, true)
	try("192.0.2.7", signalBox, false, true) // it is not looked at, so nothing is learnt
	try("192.0.2.8", signalBox, true, false)
	*clock = clock.Add(knockRest)
	try("192.0.2.7", signalBox, true, false)
	try("192.0.2.7", signalBox, true, false) // the right one costs no try
	try("192.0.2.7", "steam", false, false)
	try("192.0.2.7", "steam", false, true)
	*clock = clock.Add(time.Hour)
	for range knockBurst {
		try("192.0.2.7", "steam", false, false)
	}
	try("192.0.2.7", "steam", false, true) // a rest saves up no more than a burst
}

// TestARightPasswordDoesNotStandBehindGuesses has the line of one address occupied by
// a guess that is not done.
func TestARightPasswordDoesNotStandBehindGuesses(t *testing.T) {
	g, clock := guarded(t)
	guess, wait := g.knocks.admit(addressOf(&http.Request{RemoteAddr: "192.0.2.7:50000"}), *clock)
	if wait != 0 {
		t.Fatal("the first guess waits")
	}
	guess.turn <- struct{}{}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := knockFrom(ctx, g, "192.0.2.7", signalBox); !errors.Is(err, context.Canceled) {
		t.Errorf("a second try from one address does not wait for the first: %v", err)
	}
	if ok, _, err := knockFrom(t.Context(), g, "2001:db8::7", signalBox); !ok || err != nil {
		t.Errorf("the right password from elsewhere opens: %t (%v)", ok, err)
	}
}

func TestAddressesOfOneNetworkShareTheirTries(t *testing.T) {
	for _, c := range []struct {
		one, other string
		same       bool
	}{
		{"192.0.2.7:1", "192.0.2.7:2", true},
		{"192.0.2.7:1", "[::ffff:192.0.2.7]:2", true},
		{"192.0.2.7:1", "192.0.2.8:1", false},
		{"[2001:db8::1]:1", "[2001:db8::2]:1", true},
		{"[2001:db8::1]:1", "[2001:db8:0:1::1]:1", false},
		{"[fe80::1%eth0]:1", "[fe80::2%eth1]:1", true},
		{"@", "pipe", true},
	} {
		one, other := addressOf(&http.Request{RemoteAddr: c.one}), addressOf(&http.Request{RemoteAddr: c.other})
		if (one == other) != c.same {
			t.Errorf("%s is %v and %s is %v", c.one, one, c.other, other)
		}
	}
}

func TestTheDoorRemembersSoManyAddressesAtMost(t *testing.T) {
	k, now := newKnocks(), time.Now()
	for i := range 3 * mostKnockers {
		k.admit(addressOf(&http.Request{RemoteAddr: fmt.Sprintf("10.%d.%d.1:1", i>>8, i&255)}), now)
	}
	if n := len(k.from); n > mostKnockers {
		t.Errorf("%d addresses are remembered, want at most %d", n, mostKnockers)
	}
}

func TestTheDoorSaysHowLongToWait(t *testing.T) {
	now := time.Now()
	b := newBench(t, func(o *Options) { o.Password, o.Now = signalBox, func() time.Time { return now } })
	for range knockBurst {
		b.post("/enter", url.Values{"password": {"steam"}})
	}
	a := b.post("/enter", url.Values{"password": {"steam"}})
	if a.status != http.StatusTooManyRequests || a.header.Get("Retry-After") == "" {
		t.Errorf("a guess too many is answered with %d, to wait %q s", a.status, a.header.Get("Retry-After"))
	}
	want(t, a.body, "Too many wrong passwords came from your address.")
}

// impatient serves with little patience.
func impatient(t *testing.T, p patience) *bench {
	t.Helper()
	b := newBench(t, func(o *Options) { o.Password = signalBox })
	b.server.patience = p
	b.http.Config.Handler = b.server.Handler()
	return b
}

// dribble sends a request whose body comes in parts, and returns the answer, "" where
// the line was cut without one.
func dribble(t *testing.T, b *bench, path string, parts int, every time.Duration) string {
	t.Helper()
	c, err := net.Dial("tcp", b.http.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	const part = "password=steam&"
	fmt.Fprintf(c, "POST %s HTTP/1.1\r\nHost: %s\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: %d\r\n\r\n", path, b.http.Listener.Addr(), 64*len(part))
	go func() {
		for range parts {
			if _, err := io.WriteString(c, part); err != nil {
				return
			}
			time.Sleep(every)
		}
	}()
	if err := c.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	status, err := bufio.NewReader(c).ReadString('\n')
	var late net.Error
	if errors.As(err, &late) && late.Timeout() {
		t.Fatalf("%s: the line is held", path)
	}
	return strings.TrimSpace(status)
}

func TestABodyThatDoesNotComeIsGivenUp(t *testing.T) {
	soon := patience{idle: 200 * time.Millisecond, lead: time.Minute, slowest: 1 << 20}
	for _, path := range []string{"/enter", "/lamps", "/push", "/nowhere"} { // read, and read by nobody
		b := impatient(t, soon)
		want := " 408 "
		if path != "/enter" {
			want = "" // whoever is not inside is answered before the body is looked at
		}
		if got := dribble(t, b, path, 1, 0); !strings.Contains(got, want) || strings.Contains(got, " 200 ") {
			t.Errorf("%s: half a body is answered with %q", path, got)
		}
	}
	creeping := patience{idle: time.Minute, lead: 500 * time.Millisecond, slowest: 1 << 20}
	if got := dribble(t, impatient(t, creeping), "/enter", 64, 100*time.Millisecond); !strings.Contains(got, " 408 ") {
		t.Errorf("a body that creeps is answered with %q", got)
	}
}

func TestABodyThatComesSlowlyIsWaitedFor(t *testing.T) {
	b := impatient(t, patience{idle: 2 * time.Second, lead: time.Minute, slowest: 1})
	if got := dribble(t, b, "/enter", 64, 10*time.Millisecond); !strings.Contains(got, " 403 ") { // whole, but without the form's token
		t.Errorf("the answer is %q", got)
	}
}

// TestAnAnswerMayTakeLongerThanItsBody holds a handler up after it has read everything.
func TestAnAnswerMayTakeLongerThanItsBody(t *testing.T) {
	p := patience{idle: 100 * time.Millisecond, lead: time.Minute, slowest: 1 << 20}
	s := httptest.NewServer(p.bound(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, err := io.Copy(io.Discard, r.Body); err != nil {
			t.Error(err)
		}
		select {
		case <-r.Context().Done():
			t.Error("the request is given up while it is worked on")
		case <-time.After(400 * time.Millisecond):
		}
	})))
	defer s.Close()
	for range 2 { // the second on the same line
		res, err := http.Post(s.URL, "text/plain", strings.NewReader("all of it"))
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
	}
}
