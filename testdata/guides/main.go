// Command guides draws the guide prices of samples/sale.csv: what each lot would go for in an auction of five rivals,
// who know what the car will truly cost to repair and sell for better than its code tells. So some lots go cheap and
// others dear. Rows without a guide, cars that may not be repaired and rows without a code are left as they are; every
// other cell stays as it is. The same seed gives the same bytes.
//
//	go run ./testdata/guides            writes samples/sale.csv
//	go run ./testdata/guides -o FILE    writes there
//
// It is run from the top of the repository.
package main

import (
	"bytes"
	"encoding/csv"
	"flag"
	"fmt"
	"hash/fnv"
	"log"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices/invented"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/tabular"
)

const (
	list   = "samples/sale.csv"
	anHour = 22 // what the rivals count an hour of their own work at, pounds, whatever the starter says
)

func main() {
	log.SetFlags(0)
	out := flag.String("o", list, "the file to write")
	seed := flag.Uint64("seed", 1, "what the auctions are drawn by")
	flag.Parse()
	if err := run(*out, *seed); err != nil {
		log.Fatal(err)
	}
}

func run(out string, seed uint64) error {
	text, err := os.ReadFile(list)
	if err != nil {
		return err
	}
	workshop, problems, _, err := shop.Read("")
	if err != nil {
		return err
	}
	if len(problems) > 0 {
		return problems[0]
	}
	workshop.LabourRate = anHour
	on := lots.Day{Date: time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)}
	cars, err := lots.ReadList(tabular.NewCSV(list, bytes.NewReader(text)), workshop, lots.Reading{On: on})
	if err != nil {
		return err
	}
	if len(cars.Problems) > 0 {
		return cars.Problems[0]
	}
	e, err := evaluate.New(workshop, evaluate.Options{Points: 4096, Seed: 1})
	if err != nil {
		return err
	}
	guides := map[string]float64{}
	for _, lot := range cars.Lots {
		if lot.Guide == 0 {
			continue
		}
		hammer, ok, err := auctioned(e, lot, seed)
		if err != nil {
			return fmt.Errorf("lot %s: %w", lot.Number, err)
		}
		if ok {
			guides[lot.Number] = hammer
		}
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		return err
	}
	number, guide := slices.Index(rows[0], "lot"), slices.Index(rows[0], "guide")
	if number < 0 || guide < 0 {
		return fmt.Errorf("%s has no column lot or guide", list)
	}
	for _, row := range rows[1:] {
		if g, ok := guides[row[number]]; ok {
			row[guide] = like(row[guide], g)
		}
	}
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		return err
	}
	return tabular.WriteFile(out, b.Bytes())
}

// auctioned is what a lot goes for, to the next 50 pounds; false where it is not ranked. A lot has numbers of its own,
// so that a row more changes no other's guide.
func auctioned(e *evaluate.Evaluator, lot *evaluate.Lot, seed uint64) (hammer float64, ok bool, err error) {
	if r, err := e.Evaluate(lot); err != nil || !r.Evaluated() {
		return 0, false, err
	}
	p, err := e.Resolve(lot)
	if err != nil {
		return 0, false, err
	}
	var totals simulate.Totals
	totals.Sum(e.Draws(), p.Case)
	repair := e.Worlds(p, &totals, evaluate.Held{}).Repair
	h := fnv.New64a()
	h.Write([]byte(lot.Number))
	rng := rand.New(rand.NewPCG(seed, h.Sum64()))
	value := lot.Value.Pounds()
	o := invented.Offer{Value: value, Loss: invented.Loss(lot.Category), Repair: repair[rng.IntN(len(repair))] / value,
		Dead: map[string]float64{"no": 1, "yes": 0}[lot.Starts], VATPlus: lot.Plus}
	_, hammer = invented.FiveRivals.Knocked(rng, &o)
	return math.Round(hammer/50) * 50, true, nil
}

// like writes an amount as a cell has one: with or without a pound sign, commas and pence.
func like(cell string, pounds float64) string {
	text := money.FromPounds(pounds).String()
	if !strings.Contains(cell, ".") {
		text = strings.TrimSuffix(text, ".00")
	}
	if !strings.Contains(cell, ",") {
		text = strings.ReplaceAll(text, ",", "")
	}
	if strings.HasPrefix(cell, "£") {
		text = "£" + text
	}
	return text
}
