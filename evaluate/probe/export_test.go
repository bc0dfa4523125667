package probe

// VarianceShare is for tests against published values.
var VarianceShare = varianceShare

// Pattern is the number of a pattern of answers, an answer for each item: the first counts
// ones, the second threes, and so on.
func Pattern(answers []Answer) int {
	n, unit := 0, 1
	for _, a := range answers {
		n += unit * int(a)
		unit *= int(answerCount)
	}
	return n
}
