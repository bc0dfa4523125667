package simulate

import (
	_ "embed"
	"math/bits"
	"strconv"
	"strings"
	"sync"
)

//go:embed directions.txt
var directionText string

// directions returns, for each dimension, the 32 direction numbers of Sobol's
// sequence: Bratley and Fox (1988), ACM Transactions on Mathematical Software
// 14, algorithm 659, with the initial numbers of Joe and Kuo (2008). Of their
// dimensions those were taken that go best with the first three, which matter to
// every lot.
var directions = sync.OnceValue(func() [][32]uint32 {
	var all [][32]uint32
	for line := range strings.Lines(directionText) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		var numbers []uint32
		for _, field := range strings.Fields(line) {
			n, err := strconv.ParseUint(field, 10, 32)
			if err != nil {
				panic("world: directions.txt: " + err.Error())
			}
			numbers = append(numbers, uint32(n))
		}
		all = append(all, expand(numbers[0] == 0, numbers[1], numbers[2:]))
	}
	return all
})

// expand continues the initial numbers m by the recurrence of the primitive
// polynomial. The first dimension is van der Corput's sequence.
func expand(first bool, poly uint32, m []uint32) (v [32]uint32) {
	if first {
		for k := range v {
			v[k] = 1 << (31 - k)
		}
		return v
	}
	degree := bits.Len32(poly) - 1
	for k := range v {
		if k < degree {
			v[k] = m[k] << (31 - k)
			continue
		}
		v[k] = v[k-degree] ^ v[k-degree]>>degree
		for j := 1; j < degree; j++ {
			if poly>>(degree-j)&1 == 1 {
				v[k] ^= v[k-j]
			}
		}
	}
	return v
}

// sobol returns coordinate number dimension of the point of that index, as a
// fraction of 2^32.
func sobol(v *[32]uint32, index uint32) (x uint32) {
	for k := 0; index != 0; k, index = k+1, index>>1 {
		if index&1 == 1 {
			x ^= v[k]
		}
	}
	return x
}

// scramble is Owen's nested uniform scrambling by a hash: Burley (2020),
// Practical Hash-based Owen Scrambling, Journal of Computer Graphics Techniques
// 9(4), with the permutation of Laine and Karras (2011).
func scramble(x, seed uint32) uint32 {
	x = bits.Reverse32(x)
	x += seed
	x ^= x * 0x6c50b47c
	x ^= x * 0xb82f1e52
	x ^= x * 0xc7afe638
	x ^= x * 0x8d22f6e6
	return bits.Reverse32(x)
}

// mix spreads a seed and a number over 32 bits (the finaliser of SplitMix64:
// Steele, Lea and Flood 2014).
func mix(seed uint64, number int) uint32 {
	x := seed + uint64(number+1)*0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return uint32((x ^ x>>31) >> 16)
}

// uniforms fills out, whose length is a power of two, with one scrambled
// coordinate of as many points. Each lies in the middle of a stratum of its
// own, so that the numbers are a permutation of (k + 1/2) / n.
func uniforms(dimension int, seed uint64, out []float64) {
	v := &directions()[dimension]
	key := mix(seed, dimension)
	shift := 32 - (bits.Len(uint(len(out))) - 1)
	scale := 1 / float64(len(out))
	for i := range out {
		out[i] = (float64(uint64(scramble(sobol(v, uint32(i)), key))>>shift) + 0.5) * scale
	}
}
