package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"golang.org/x/term"

	"wreckoner/evaluate/money"
)

// progress says on standard error how far a long run is: nothing in the first
// second, then one line that is written again ten times a second, and only on a
// terminal. It may be used by several goroutines.
type progress struct {
	w     io.Writer      // nil: silent
	total int            // 0: unknown
	share func() float64 // of the work that is done, where the total is unknown; 0: unknown too
	begun time.Time
	mu    sync.Mutex
	done  int
	last  time.Time
	shown bool
}

func (s *streams) progress(quiet bool, total int) *progress {
	p := &progress{total: total, begun: time.Now()}
	f, ok := s.err.(*os.File)
	if !quiet && ok && term.IsTerminal(int(f.Fd())) && os.Getenv("TERM") != "dumb" && os.Getenv("CI") == "" {
		p.w = f
	}
	return p
}

// add counts lots that are done.
func (p *progress) add(n int) {
	if p.w == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done += n
	now := time.Now()
	if now.Sub(p.begun) < time.Second || now.Sub(p.last) < 100*time.Millisecond {
		return
	}
	p.last, p.shown = now, true
	rate := float64(p.done) / now.Sub(p.begun).Seconds()
	text := fmt.Sprintf("%s lots, %s a second", money.Group(int64(p.done)), money.Group(int64(rate)))
	if p.total > 0 {
		left := time.Duration(float64(p.total-p.done) / rate * float64(time.Second)).Round(time.Second)
		text = fmt.Sprintf("%s of %s lots, %s a second, %s left", money.Group(int64(p.done)), money.Group(int64(p.total)),
			money.Group(int64(rate)), left)
	}
	if p.total == 0 && p.share != nil {
		if share := p.share(); share > 0 {
			text += fmt.Sprintf(", %s left", timeLeft(now.Sub(p.begun), share))
		}
	}
	fmt.Fprintf(p.w, "\r\x1b[K%s", text)
}

// timeLeft is how long the rest of some work takes of which a share is done.
func timeLeft(took time.Duration, share float64) time.Duration {
	return time.Duration(float64(took) * max(0, 1-share) / share).Round(time.Second)
}

// clear wipes the line, where something else is to be printed.
func (p *progress) clear(really bool) {
	if p.w == nil || !really {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.shown {
		fmt.Fprint(p.w, "\r\x1b[K")
		p.shown = false
	}
}

func (p *progress) end() { p.clear(true) }
