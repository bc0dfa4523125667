package page

import (
	"slices"

	"wreckoner/evaluate/glossary"
)

// saleTerms are the words of the sale's page, as the glossary has them, in the order in which a reader meets them.
var saleTerms = []string{
	"stop at", "held by", "go after", "if cheap", "long shot", "no guide", "average", "likely", "likely range", "loss",
	"margin", "top-bidder allowance", "suspected", "hidden damage",
}

// Terms are for the template.
func (*saleView) Terms() []glossary.Term {
	all := glossary.Terms()
	out := make([]glossary.Term, 0, len(saleTerms))
	for _, name := range saleTerms {
		i := slices.IndexFunc(all, func(t glossary.Term) bool { return t.Term == name })
		if i < 0 {
			panic("page: the glossary has no " + name)
		}
		out = append(out, all[i])
	}
	return out
}
