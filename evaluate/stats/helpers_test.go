package stats_test

import (
	"math"
	"testing"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.12g, want %.12g within %g", what, got, want, tolerance)
	}
}

func fails(t testing.TB, err error, want string) {
	t.Helper()
	if err == nil || err.Error() != want {
		t.Errorf("got error %v, want %s", err, want)
	}
}
