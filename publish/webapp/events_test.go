package webapp

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

func fileSum(t *testing.T, name string) string {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:])
}

// listen follows a stream and returns its events.
func (b *bench) listen(path string) <-chan [2]string {
	b.Helper()
	ctx, cancel := context.WithCancel(b.Context())
	b.Cleanup(cancel)
	r, err := http.NewRequestWithContext(ctx, "GET", b.http.URL+path, nil)
	if err != nil {
		b.Fatal(err)
	}
	res, err := b.client.Do(r)
	if err != nil {
		b.Fatal(err)
	}
	if got := res.Header.Get("Content-Type"); got != "text/event-stream" {
		b.Fatalf("%s is %s", path, got)
	}
	events := make(chan [2]string, 64)
	go func() {
		defer res.Body.Close()
		defer close(events)
		lines := bufio.NewScanner(res.Body)
		lines.Buffer(nil, 1<<20)
		name := ""
		for lines.Scan() {
			if v, is := strings.CutPrefix(lines.Text(), "event: "); is {
				name = v
			}
			if v, is := strings.CutPrefix(lines.Text(), "data: "); is {
				events <- [2]string{name, v}
			}
		}
	}()
	return events
}

func next(t *testing.T, events <-chan [2]string) [2]string {
	t.Helper()
	select {
	case e, ok := <-events:
		if !ok {
			t.Fatal("the stream ended")
		}
		return e
	case <-time.After(10 * time.Second):
		t.Fatal("no event came")
	}
	panic("unreachable")
}

func TestTwoBrowsersSeeEachOthersChanges(t *testing.T) {
	b := newBench(t)
	one, other := b.listen("/events?after=0"), b.listen("/events?after=0")
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	for _, events := range []<-chan [2]string{one, other} {
		if e := next(t, events); e != [2]string{"changed", "1"} {
			t.Errorf("the event is %q", e)
		}
	}
	late := b.listen("/events?after=0") // made from an older page
	if e := next(t, late); e[1] != "1" {
		t.Errorf("who comes late hears of %q", e)
	}
}

func TestASittingIsFollowedReadingByReading(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	events := b.listen("/sittings/1/live?after=0")
	b.must("/sittings/1/reading", url.Values{"power": {"36.5"}})
	e := next(t, events)
	var news struct {
		Lines []line
		Last  int64
	}
	if err := json.Unmarshal([]byte(e[1]), &news); err != nil {
		t.Fatal(err)
	}
	if e[0] != "readings" || news.Last != 1 || len(news.Lines) != 1 || news.Lines[0].Values[0] != 36.5 || news.Lines[0].Unit != "W" {
		t.Errorf("the event is %q", e)
	}
	var many []notebook.Reading
	for i := range 3 * mostLive {
		v := float64(i)
		many = append(many, notebook.Reading{At: time.Now().Add(time.Duration(i) * time.Millisecond), Channel: "lux", Values: []notebook.Value{{Key: "illuminance", V: &v, Unit: "lx"}}})
	}
	if _, err := b.nb.Append(t.Context(), 1, many); err != nil {
		t.Fatal(err)
	}
	if e := next(t, events); e[0] != "behind" || e[1] != fmt.Sprint(1+3*mostLive) {
		t.Errorf("who is far behind hears %q", e)
	}
}

// A reading set aside, or one older than all there were, moves the page's time axis.
func TestWhoFollowsASittingIsToldWhenItsTimeMoves(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	b.must("/sittings/1/reading", url.Values{"power": {"36.5"}})
	b.must("/sittings/1/reading", url.Values{"power": {"36.6"}})
	events := b.listen("/sittings/1/live?after=2")
	b.must("/sittings/1/strike", url.Values{"from": {"1"}, "to": {"1"}, "reason": {"door opened"}})
	if e := next(t, events); e[0] != "behind" {
		t.Errorf("after a reading was set aside it hears %q", e)
	}
	v := 36.4
	old := notebook.Reading{At: time.Now().Add(-time.Hour), Channel: "mains", Values: []notebook.Value{{Key: "power", V: &v, Unit: "W"}}}
	if _, err := b.nb.Append(t.Context(), 1, []notebook.Reading{old}); err != nil {
		t.Fatal(err)
	}
	if e := next(t, events); e[0] != "behind" {
		t.Errorf("after an older reading it hears %q", e)
	}
}

// TestOneWhoDoesNotListenHoldsNobodyUp opens a stream and never reads from it while
// readings are recorded.
func TestOneWhoDoesNotListenHoldsNobodyUp(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	for range 8 {
		c, err := net.Dial("tcp", b.http.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Close() })
		if err := c.(*net.TCPConn).SetReadBuffer(1024); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(c, "GET /sittings/1/live?after=0 HTTP/1.1\r\nHost: %s\r\n\r\n", b.http.Listener.Addr())
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	for i := range 300 {
		v := float64(i)
		if _, err := b.nb.Append(ctx, 1, []notebook.Reading{{At: time.Now(), Channel: "lux", Values: []notebook.Value{{Key: "illuminance", V: &v}}}}); err != nil {
			t.Fatalf("reading %d: %v", i, err)
		}
	}
	if tally, err := b.nb.Tally(t.Context(), 1); err != nil || tally.Readings != 300 {
		t.Errorf("%d readings are kept, %v", tally.Readings, err)
	}
}

// TestABoardPushesReadings lets a board's readings in by its token alone, while a
// sitting waits for them.
func TestABoardPushesReadings(t *testing.T) {
	const token = "invented-token-of-the-club"
	setUp, err := json.Marshal(map[string]any{"sources": []any{map[string]any{"kind": "push", "channel": "board", "token": token}}})
	if err != nil {
		t.Fatal(err)
	}
	b := newBench(t, func(o *Options) { o.SetUp, o.Password = setUp, "Signal box at dusk" })
	t.Cleanup(func() {
		if err := b.server.Close(); err != nil {
			t.Error(err)
		}
	})
	push := func(token string) int {
		r := b.request("POST", "/push", strings.NewReader(`{"values": {"illuminance": {"value": 123.5, "unit": "lx"}}}`))
		r.Header.Set("Authorization", "Bearer "+token)
		r.Header.Set("Content-Type", "application/json")
		return b.do(r).status
	}
	if got := push(token); got != http.StatusServiceUnavailable {
		t.Errorf("before a sitting waits a push is answered with %d", got)
	}
	b.must("/enter", url.Values{"password": {"Signal box at dusk"}})
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	b.must("/sittings/1/listen", url.Values{"do": {"start"}})
	if got := push("another-token-altogether"); got != http.StatusUnauthorized {
		t.Errorf("a wrong token is answered with %d", got)
	}
	if got := push(token); got != http.StatusOK {
		t.Errorf("the board's push is answered with %d", got)
	}
	want(t, b.page("/sittings/1"), "Illuminance 123.5 lx", "board")
	if elsewhere := b.post("/sittings/2/listen", url.Values{"do": {"start"}}); elsewhere.status != http.StatusNotFound {
		t.Errorf("a sitting that is not there is answered with %d", elsewhere.status)
	}
	b.must("/sittings", url.Values{"lamp": {"1"}})
	if other := b.post("/sittings/2/listen", url.Values{"do": {"start"}}); other.status != http.StatusConflict {
		t.Errorf("instruments that are read elsewhere: %d", other.status)
	}
	b.must("/sittings/1/end", nil)
	if got := push(token); got != http.StatusServiceUnavailable {
		t.Errorf("after the end a push is answered with %d", got)
	}
}
