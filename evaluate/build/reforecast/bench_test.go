package reforecast_test

import (
	"testing"

	"wreckoner/evaluate/build/reforecast"
)

func BenchmarkForecast(b *testing.B) {
	shop := starter(b)
	l := lot(b, "nose s2 s3? c3 m1?60; front-near c2 m2?; cabin r2?70")
	f := forecaster(b, shop, 1024, l)
	car := truths(b, shop, l, 64)[3]
	p := reforecast.Progress{Jobs: car.jobs[:7]}
	for b.Loop() {
		if _, err := f.Forecast(p, reforecast.Offers{}); err != nil {
			b.Fatal(err)
		}
	}
}
