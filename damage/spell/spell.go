// Package spell measures how far apart two words are as a slip of the keyboard goes.
package spell

// Distance is the number of letters to put in, take out, change or swap with their neighbour
// to make b of a: the optimal string alignment distance (Damerau 1964, Communications of the
// ACM 7, 171-176, by the recurrence of Wagner and Fischer 1974, Journal of the ACM 21,
// 168-173).
func Distance(a, b []rune) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
