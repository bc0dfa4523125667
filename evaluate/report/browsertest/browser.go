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
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// A Browser is a running browser with a profile of its own.
type Browser struct{ ctx context.Context }

// patience bounds what is done with one page.
const patience = 90 * time.Second

// Start starts a browser, which ends with the test.
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
	profile, err := os.MkdirTemp("", "wreckoner-browser-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { remove(t, profile) })
	allocator, stop := chromedp.NewExecAllocator(context.Background(),
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
	t.Cleanup(stop)
	ctx, closeBrowser := chromedp.NewContext(allocator)
	t.Cleanup(closeBrowser)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("starting chromium: %v", err)
	}
	return &Browser{ctx: ctx}
}

// remove removes the profile, in which the browser may still write for a moment.
func remove(t testing.TB, dir string) {
	var err error
	for range 50 {
		if err = os.RemoveAll(dir); err == nil {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Errorf("removing the browser's profile: %v", err)
}
