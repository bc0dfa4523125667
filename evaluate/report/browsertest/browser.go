// Package browsertest shows pages in a real browser and looks for what is wrong
// with them: labels outside their picture or over each other, text too small
// or too faint, sideways scroll, requests that leave the page, controls that
// the keyboard does not reach. It is for tests.
//
// It drives Debian's chromium. Where that is missing, [Start] skips the test and
// says so; where the environment has CI=true it fails instead. -short starts no browser.
package browsertest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// A Browser is a running browser that shares nothing with another: no storage and no cookies.
type Browser struct{ ctx context.Context }

// patience bounds what is done with one page.
const patience = 90 * time.Second

// process is the browser's process that the tests of a package share, under Run.
var process struct {
	sync.Mutex
	shared bool
	ctx    context.Context // nil: not started yet
	stop   func() error
}

// Run runs the tests of a package with one process of the browser for all of them. It is for TestMain.
func Run(m *testing.M) {
	process.shared = true
	m.Run()
	if process.stop != nil {
		if err := process.stop(); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
	}
}

// Start returns a browser, which ends with the test.
func Start(t testing.TB) *Browser {
	t.Helper()
	if testing.Short() {
		t.Skip("-short starts no browser")
	}
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("chromium is not installed; install the package chromium")
		}
		t.Skip("chromium is not installed, so no page is looked at; install the package chromium")
	}
	process.Lock()
	defer process.Unlock()
	if process.ctx == nil {
		ctx, stop, err := launch(path)
		if err != nil {
			t.Fatal(err)
		}
		if !process.shared {
			t.Cleanup(func() {
				if err := stop(); err != nil {
					t.Error(err)
				}
			})
			return &Browser{ctx: ctx}
		}
		process.ctx, process.stop = ctx, stop
	}
	ctx, closeBrowser := chromedp.NewContext(process.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(closeBrowser)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("starting a browser in the process of chromium: %v", err)
	}
	return &Browser{ctx: ctx}
}

// launch starts a process of the browser with a profile of its own. stop ends it and removes the profile.
func launch(path string) (ctx context.Context, stop func() error, err error) {
	profile, err := os.MkdirTemp("", "wreckoner-browser-")
	if err != nil {
		return nil, nil, err
	}
	allocator, stopAllocator := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath(path),
		chromedp.UserDataDir(profile),
		chromedp.Headless,
		chromedp.NoSandbox,
		chromedp.DisableGPU,
		chromedp.NoFirstRun,
		chromedp.NoDefaultBrowserCheck,
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-dev-shm-usage", true),
		chromedp.Flag("disable-extensions", true),
		chromedp.Flag("force-color-profile", "srgb"),
		// No name is looked up, whatever a page asks for: the request still
		// shows in Page.Requests.
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND"),
	)
	ctx, closeBrowser := chromedp.NewContext(allocator)
	stop = func() error {
		closeBrowser()
		stopAllocator()
		return remove(profile)
	}
	if err := chromedp.Do(ctx); err != nil {
		return nil, nil, errors.Join(fmt.Errorf("starting chromium: %w", err), stop())
	}
	return ctx, stop, nil
}

// remove removes the profile, in which the browser may still write for a moment.
func remove(dir string) (err error) {
	for range 50 {
		if err = os.RemoveAll(dir); err == nil {
			return nil
		}
		time.Sleep(100 * time.Millisecond)
	}
	return fmt.Errorf("removing the browser's profile: %w", err)
}
