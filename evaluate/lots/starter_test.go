package lots_test

import (
	"testing"

	"wreckoner/evaluate/shop"
)

func starter(t testing.TB) *shop.Shop {
	t.Helper()
	workshop, problems, notices, err := shop.Read("")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Error(p)
	}
	for _, n := range notices {
		t.Error("the starter shows a notice:", n)
	}
	if t.Failed() {
		t.FailNow()
	}
	return workshop
}
