package browser

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// Visit goes to a page below the base.
func (p *Tab) Visit(path string) {
	p.Helper()
	p.Do(chromedp.Navigate(p.base + path))
}

// Press clicks what has these words.
func (p *Tab) Press(words string) {
	p.Helper()
	p.Await("the button "+words, fmt.Sprintf(`(() => {
		const e = [...document.querySelectorAll('button, a, summary')].find((e) => e.textContent.trim() === %s && e.checkVisibility());
		if (e) e.click();
		return !!e;
	})()`, Quoted(words)))
}

// Fill writes into a field as a person would.
func (p *Tab) Fill(selector, value string) {
	p.Helper()
	p.Await(selector, fmt.Sprintf(`(() => {
		const e = document.querySelector(%s);
		if (!e) return false;
		e.focus();
		e.value = %s;
		e.dispatchEvent(new Event('input', {bubbles: true}));
		e.dispatchEvent(new Event('change', {bubbles: true}));
		return true;
	})()`, Quoted(selector), Quoted(value)))
}

// Choose gives a file to the page's file field.
func (p *Tab) Choose(name string, content []byte) {
	p.Helper()
	path := filepath.Join(p.TempDir(), name)
	if err := os.WriteFile(path, content, 0o600); err != nil {
		p.Fatal(err)
	}
	p.Do(chromedp.SetUploadFiles("input[type=file]", []string{path}))
}

// Key presses keys.
func (p *Tab) Key(keys string) {
	p.Helper()
	p.Do(chromedp.KeyEvent(keys))
}

// TabTo presses Tab until what has this name has the focus, and checks that the
// focus can be seen.
func (p *Tab) TabTo(name string) {
	p.Helper()
	for range 80 {
		p.Key(kb.Tab)
		if Ask[string](p, `document.activeElement.getAttribute('aria-label') ?? document.activeElement.textContent.trim()`) == name {
			if Ask[string](p, `getComputedStyle(document.activeElement).outlineStyle`) == "none" {
				p.Errorf("the focus on %q cannot be seen", name)
			}
			return
		}
	}
	p.Fatalf("Tab never reaches %q", name)
}

// Width makes the window this wide, in CSS pixels.
func (p *Tab) Width(px int64) {
	p.Helper()
	p.Do(chromedp.EmulateViewport(px, 900))
}

// Shoot writes the whole page as it looks.
func (p *Tab) Shoot(path string) {
	p.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		p.Fatal(err)
	}
	png, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		p.Fatal(err)
	}
	if err := os.WriteFile(path, png, 0o644); err != nil {
		p.Fatal(err)
	}
}
