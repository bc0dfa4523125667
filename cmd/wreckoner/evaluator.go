package main

import (
	"github.com/spf13/pflag"

	"wreckoner/evaluate"
)

// judging is what the commands that work out lots have in common: screen, probe and plan.
type judging struct {
	s      *streams
	shop   shopOption
	lots   lotOptions
	engine engineOptions
	out    output
	html   htmlOption
	facts  evidenceOptions
}

func newJudging(s *streams) judging { return judging{s: s, out: output{s: s}} }

func (c *judging) flags(f *pflag.FlagSet) {
	c.shop.flags(f)
	c.lots.flags(f)
	c.engine.flags(f)
	c.out.flags(f)
	c.html.flags(f)
	c.facts.flags(f)
}

// evaluator returns the evaluator that the options ask for, and how it simulates.
func (c *judging) evaluator() (*evaluate.Evaluator, evaluate.Options, error) {
	opt, err := c.engine.options()
	if err != nil {
		return nil, opt, err
	}
	e, err := c.s.evaluator(&c.shop, &c.lots, &c.facts, opt, c.out.quiet)
	return e, opt, err
}

// evaluator returns the evaluator that lot lists are read and worked out with: the shop folder's,
// at the prices of the day of the sale, with what the evidence in the folder says.
func (s *streams) evaluator(folder *shopOption, o *lotOptions, facts *evidenceOptions, opt evaluate.Options,
	quiet bool) (*evaluate.Evaluator, error) {
	workshop, err := folder.load(s, quiet)
	if err != nil {
		return nil, err
	}
	if workshop, err = o.grown(s, workshop, quiet); err != nil {
		return nil, err
	}
	e, err := facts.judge(s, folder.folder, workshop, opt, quiet)
	if err != nil {
		return nil, err
	}
	o.appraised = e.Prices() != nil
	return e, nil
}
