package evaluate

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// NIST Statistical Reference Datasets, univariate summary statistics (US
// government work, certified values of 15 digits). NumAcc3 and NumAcc4 are
// asked for 9 and 8 digits, as their inputs are no binary fractions. A one-pass
// sum of squares fails here.
func TestMeanAndSDAreNISTs(t *testing.T) {
	for name, digits := range map[string]int{"NumAcc1": 14, "NumAcc2": 13, "NumAcc3": 9, "NumAcc4": 8, "Michelso": 12,
		"Mavro": 11, "Lew": 13, "Lottery": 13} {
		values, certifiedMean, certifiedSD := nist(t, filepath.Join("testdata", "nist", name+".dat"))
		mean, sd := meanSD(values)
		sd *= math.Sqrt(float64(len(values)) / float64(len(values)-1)) // theirs is the sample's
		for what, x := range map[string][2]float64{"mean": {mean, certifiedMean}, "sd": {sd, certifiedSD}} {
			if got := -math.Log10(math.Abs(x[0]-x[1]) / math.Abs(x[1])); got < float64(digits) {
				t.Errorf("%s: %s %.17g agrees with %.17g in %.1f digits, want %d", name, what, x[0], x[1], got, digits)
			}
		}
	}
}

// nist reads a dataset and its certified mean and standard deviation.
func nist(t *testing.T, path string) (values []float64, mean, sd float64) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	number := func(text string) float64 {
		for _, word := range strings.Fields(text) {
			if x, err := strconv.ParseFloat(word, 64); err == nil {
				return x
			}
		}
		t.Fatalf("%s: no number in %q", path, text)
		return 0
	}
	data := false
	for in := bufio.NewScanner(f); in.Scan(); {
		line := in.Text()
		switch _, certified, _ := strings.Cut(line, ":"); {
		case data && strings.TrimSpace(line) != "":
			values = append(values, number(line))
		case strings.Contains(line, "Sample Mean"):
			mean = number(certified)
		case strings.Contains(line, "Sample Standard Deviation"):
			sd = number(certified)
		case strings.HasPrefix(line, "---"):
			data = true
		}
	}
	if len(values) < 3 {
		t.Fatalf("%s: %d values", path, len(values))
	}
	return values, mean, sd
}
