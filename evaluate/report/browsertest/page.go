package browsertest

import (
	"context"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// A View is how a page is looked at.
type View struct {
	// Width of the window in pixels. Zero means 1280.
	Width int
	// Height of the window in pixels. Zero means 900.
	Height int
	// Dark asks the page for its dark colours.
	Dark bool
	// Print asks the page for its print layout, on the screen.
	Print bool
	// Before is a script that runs before the page's own.
	Before string
	// NoScript turns the page's scripts off.
	NoScript bool
}

// Views are the four that every page must stand: a phone and a desk, light and
// dark.
func Views() map[string]View {
	return map[string]View{
		"phone light": {Width: 390, Height: 844}, "phone dark": {Width: 390, Height: 844, Dark: true},
		"desk light": {Width: 1280}, "desk dark": {Width: 1280, Dark: true},
	}
}

// A Page is a page that has been loaded, in a tab of its own.
type Page struct {
	ctx context.Context
	url string

	mu       sync.Mutex
	requests []string
	console  []string
}

// Show writes the page to a file and opens it.
func (b *Browser) Show(t testing.TB, html []byte, v View) *Page {
	t.Helper()
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, html, 0o644); err != nil {
		t.Fatal(err)
	}
	return b.Open(t, file, v)
}

// Open loads a file. The tab closes with the test.
func (b *Browser) Open(t testing.TB, file string, v View) *Page {
	t.Helper()
	file, err := filepath.Abs(file)
	if err != nil {
		t.Fatal(err)
	}
	tab, closeTab := chromedp.NewContext(b.ctx)
	t.Cleanup(closeTab)
	ctx, cancel := context.WithTimeout(tab, patience)
	t.Cleanup(cancel)
	p := &Page{ctx: ctx, url: (&url.URL{Scheme: "file", Path: filepath.ToSlash(file)}).String()}
	if err := chromedp.Listen(ctx, p.hear); err != nil {
		t.Fatal(err)
	}
	if v.Width == 0 {
		v.Width = 1280
	}
	if v.Height == 0 {
		v.Height = 900
	}
	scheme := map[bool]string{false: "light", true: "dark"}[v.Dark]
	media := map[bool]string{false: "", true: "print"}[v.Print]
	err = chromedp.Do(ctx,
		chromedp.Func(func(ctx context.Context, tab *chromedp.Target) error {
			if _, err := cdp.Call(ctx, tab, network.Enable, network.EnableParams{}); err != nil {
				return err
			}
			if v.Before != "" {
				if _, err := cdp.Call(ctx, tab, cdppage.AddScriptToEvaluateOnNewDocument,
					cdppage.AddScriptToEvaluateOnNewDocumentParams{Source: v.Before}); err != nil {
					return err
				}
			}
			_, err := cdp.Call(ctx, tab, emulation.SetScriptExecutionDisabled,
				emulation.SetScriptExecutionDisabledParams{Value: v.NoScript})
			return err
		}),
		chromedp.EmulateViewport(int64(v.Width), int64(v.Height)),
		chromedp.Func(func(ctx context.Context, tab *chromedp.Target) error {
			_, err := cdp.Call(ctx, tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
				Media: media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
			})
			return err
		}),
		chromedp.Navigate(p.url),
	)
	if err != nil {
		t.Fatalf("opening %s: %v", filepath.Base(file), err)
	}
	return p
}

// hear keeps what the page asks for and complains of.
func (p *Page) hear(event any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		p.request(e.Request.URL)
	case *network.EventWebSocketCreated:
		p.request(e.URL)
	case *runtime.EventExceptionThrown:
		text := e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			text += " " + x.Description
		}
		p.console = append(p.console, text)
	case *runtime.EventConsoleAPICalled:
		if e.Type != runtime.ConsoleAPICalledTypeError {
			return
		}
		var words []string
		for _, a := range e.Args {
			words = append(words, string(a.Value)+a.Description)
		}
		p.console = append(p.console, strings.Join(words, " "))
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError {
			p.console = append(p.console, e.Entry.Text)
		}
	}
}

func (p *Page) request(address string) {
	if address == p.url || strings.HasPrefix(address, "data:") || strings.HasPrefix(address, "blob:") {
		return
	}
	p.requests = append(p.requests, address)
}

// Requests returns the addresses of all that the page asked for so far, other
// than itself and what it carries.
func (p *Page) Requests() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.requests)
}

// Console returns the errors that the page has written or thrown so far.
func (p *Page) Console() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.console)
}

// Eval evaluates an expression in the page.
func Eval[T any](t testing.TB, p *Page, expression string) T {
	t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// Press presses keys in the page, as github.com/chromedp/chromedp/kb writes them.
func (p *Page) Press(t testing.TB, keys string) {
	t.Helper()
	if err := chromedp.Do(p.ctx, chromedp.KeyEvent(keys)); err != nil {
		t.Fatal(err)
	}
}

// OpenDetails opens every details element, so that what is in it can be seen.
func (p *Page) OpenDetails(t testing.TB) {
	t.Helper()
	Eval[int](t, p, `(() => { const all = document.querySelectorAll("details");
		all.forEach(d => { d.open = true }); return all.length })()`)
}

// Screenshot writes a PNG of the whole page, or of the first element that the
// selector names where it is not blank.
func (p *Page) Screenshot(t testing.TB, file, selector string) {
	t.Helper()
	shot := chromedp.FullScreenshot(100)
	if selector != "" {
		shot = chromedp.Screenshot(chromedp.CSS(selector))
	}
	png, err := chromedp.Run(p.ctx, shot)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, png, 0o644); err != nil {
		t.Fatal(err)
	}
}
