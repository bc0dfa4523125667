package floor

import (
	"hash/fnv"
	"math/rand/v2"
)

// shuffled returns which of a car's ways each run takes: all of them once in random order,
// then once more in another, so that each is taken as often as any other, or once more.
// Cars are shuffled by their names: that one does badly says nothing of the next, and the
// order of the files changes nothing.
func shuffled(name string, seed uint64, ways, runs int) []int {
	h := fnv.New64a()
	h.Write([]byte(name)) // never fails
	r := rand.New(rand.NewPCG(seed, h.Sum64()))
	out := make([]int, 0, runs+ways)
	for len(out) < runs {
		out = append(out, r.Perm(ways)...)
	}
	return out[:runs]
}
