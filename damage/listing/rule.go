package listing

// A rule is one line of a table of cases: an example of the words that it is
// for, whether it holds of x, and what it then does. Of a table only the first
// rule that holds is carried out, so that their order matters.
type rule[T any] struct {
	example string
	when    func(x T) bool
	then    func(x T)
}

type rules[T any] []rule[T]

// apply carries out the first rule that holds of x, and reports whether any did.
func (rs rules[T]) apply(x T) bool {
	for _, r := range rs {
		if r.when(x) {
			r.then(x)
			return true
		}
	}
	return false
}

// A verdict is a line of a table of cases that ends in a value, not in deeds.
type verdict[T, V any] struct {
	example string
	when    func(x T) bool
	value   V
}

type verdicts[T, V any] []verdict[T, V]

// of returns the value of the first line that holds of x, the zero value where
// none does.
func (vs verdicts[T, V]) of(x T) (value V) {
	for _, v := range vs {
		if v.when(x) {
			return v.value
		}
	}
	return value
}

func always[T any](T) bool { return true }
