package main

import "wreckoner/evaluate"

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
