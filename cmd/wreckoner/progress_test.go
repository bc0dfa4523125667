package main

import (
	"bytes"
	"strings"
	"testing"
	"time"
)

// Of a list whose length nobody knows, the share of the file says how long it takes.
func TestProgressByShare(t *testing.T) {
	var out bytes.Buffer
	share := 0.0
	p := &progress{w: &out, begun: time.Now().Add(-30 * time.Second), share: func() float64 { return share }}
	p.add(3000)
	if text := out.String(); !strings.Contains(text, "3,000 lots, ") || strings.Contains(text, "left") {
		t.Error(text)
	}
	share, p.last = 0.25, time.Time{}
	p.add(3000)
	if text := out.String(); !strings.HasSuffix(text, " a second, 1m30s left") {
		t.Error(text)
	}
}
