package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// chromium finds the browser. The tests need one: without it nothing would show
// that the pages are what they say.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Fatal("no chromium is installed, and the pages are tested in one: on Debian, apt-get install chromium")
	return ""
}

// Tab is a page in a browser of its own, with no earlier profile. What it is told
// and cannot do fails the test.
type Tab struct {
	*testing.T
	ctx  context.Context
	base string

	mu                   sync.Mutex
	requests, complaints []string
}

// lifetime is when a browser that hangs is given up; one that draws every page in
// every setting on a loaded machine takes minutes.
const lifetime = 15 * time.Minute

// Open starts a browser that lives as long as the test. All that it visits begins
// with the base, the address of a server or "file://".
func Open(t *testing.T, base string) *Tab {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(chromium(t)),
		chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("no-sandbox", true),
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true),
	)
	ctx, cancel := context.WithTimeout(t.Context(), lifetime)
	t.Cleanup(cancel)
	ctx, cancelBrowser := chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancelBrowser)
	ctx, cancelTab := chromedp.NewContext(ctx)
	t.Cleanup(cancelTab)
	p := &Tab{T: t, ctx: ctx, base: base}
	if err := chromedp.Listen(ctx, p.hear); err != nil {
		t.Fatal(err)
	}
	p.Do(command(network.Enable, network.EnableParams{}), command(cdplog.Enable, cdp.Empty{}))
	return p
}

// hear keeps what went over the network and what the console said.
func (p *Tab) hear(ev any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch ev := ev.(type) {
	case *network.EventRequestWillBeSent:
		p.requests = append(p.requests, ev.Request.URL)
	case *runtime.EventConsoleAPICalled:
		p.complaints = append(p.complaints, fmt.Sprint("console: ", ev.Type))
	case *runtime.EventExceptionThrown:
		p.complaints = append(p.complaints, "exception: "+ev.ExceptionDetails.Text)
	case *cdplog.EventEntryAdded:
		p.complaints = append(p.complaints, "log: "+ev.Entry.Text+" "+ev.Entry.URL)
	}
}

// command makes a protocol command a step.
func command[P, R any](c cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, c, params)
		return err
	})
}

// Do takes steps in turn.
func (p *Tab) Do(steps ...chromedp.Action[chromedp.Void]) {
	p.Helper()
	if err := chromedp.Do(p.ctx, steps...); err != nil {
		p.Fatal(err)
	}
}

// Ask evaluates an expression in the page.
func Ask[T any](p *Tab, expression string) T {
	p.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		p.Fatalf("%.200s: %v", expression, err)
	}
	return v
}

// patience is for how long a page is waited for, generous for a loaded machine.
const patience = 15 * time.Second

// Await waits until an expression holds, and fails with what the page says where it
// does not.
func (p *Tab) Await(what, expression string) {
	p.Helper()
	p.AwaitFor(patience, what, expression)
}

// AwaitFor is [Tab.Await] with another patience.
func (p *Tab) AwaitFor(patience time.Duration, what, expression string) {
	p.Helper()
	for begun := time.Now(); time.Since(begun) < patience; time.Sleep(50 * time.Millisecond) {
		if v, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](expression)); err == nil && v {
			return
		}
	}
	p.Fatalf("%s did not come: %s", what, Ask[string](p, `(document.querySelector('main') ?? document.body).innerText.slice(0, 3000)`))
}

// Said waits for words on the page.
func (p *Tab) Said(words string) {
	p.Helper()
	p.Await(fmt.Sprintf("%q", words), fmt.Sprintf(`document.body.innerText.includes(%s)`, Quoted(words)))
}

// Quoted writes a text as an expression.
func Quoted(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err) // a string can be written
	}
	return string(b)
}

// Quiet fails on anything that the browser complained of but what is allowed, and
// on any request that left the base.
func (p *Tab) Quiet(allowed ...string) {
	p.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.requests) == 0 {
		p.Error("no request was seen: the listener is deaf")
	}
	for _, u := range p.requests {
		if !strings.HasPrefix(u, p.base) && !strings.HasPrefix(u, "data:") && u != "about:blank" {
			p.Errorf("the page asked for %s", u)
		}
	}
complaints:
	for _, c := range p.complaints {
		for _, a := range allowed {
			if strings.Contains(c, a) {
				continue complaints
			}
		}
		p.Errorf("the browser complains: %s", c)
	}
}

// Scheme asks for a light or a dark page, as the system's setting does.
func (p *Tab) Scheme(scheme string) {
	p.Helper()
	p.Do(command(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	}))
}
