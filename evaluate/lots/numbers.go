package lots

import (
	"fmt"
	"hash/maphash"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/tabular"
)

// numbers are the lot numbers of a list so far, with the lines on which they
// stand: some 25 bytes each and the text, in memory without pointers, which the
// garbage collector need not walk.
type numbers struct {
	seed  maphash.Seed
	text  []string // in pieces
	last  strings.Builder
	all   [][]numberAt // in pieces, for a slice of all would be copied whole as it grows
	count int
	slots []int32 // by hash: the number's index and 1; a power of two of them
}

// numberAt is where a number is in the text, and in the list.
type numberAt struct {
	hash uint32
	at   uint32 // piece and offset
	size int32
	line int32
}

const (
	textPiece   = 1 << 16 // bytes; a longer number has a piece of its own
	numberPiece = 1 << 14 // numbers
)

func (n *numbers) number(i int32) numberAt { return n.all[i/numberPiece][i%numberPiece] }

func (n *numbers) textOf(x numberAt) string {
	from := x.at % textPiece
	return n.text[x.at/textPiece][from:][:x.size]
}

// add keeps a number, and returns its index; or, where it is there already in
// whatever case, the line on which it stands.
func (n *numbers) add(number string, line int) (index int32, before int) {
	if 4*(n.count+1) > 3*len(n.slots) {
		n.grow()
	}
	folded := strings.ToLower(number)
	hash := uint32(maphash.String(n.seed, folded))
	slot := hash & uint32(len(n.slots)-1)
	for ; n.slots[slot] != 0; slot = (slot + 1) & uint32(len(n.slots)-1) {
		if x := n.number(n.slots[slot] - 1); x.hash == hash && strings.ToLower(n.textOf(x)) == folded {
			return -1, int(x.line)
		}
	}
	if n.count%numberPiece == 0 {
		n.all = append(n.all, make([]numberAt, 0, numberPiece))
	}
	piece := &n.all[len(n.all)-1]
	*piece = append(*piece, numberAt{hash, n.keep(number), int32(len(number)), int32(line)})
	n.count++
	n.slots[slot] = int32(n.count)
	return int32(n.count - 1), 0
}

// keep copies a number's text, so that the row that it was read from is let go.
func (n *numbers) keep(number string) uint32 {
	if len(n.text) == 0 || n.last.Len()+len(number) >= textPiece {
		n.last = strings.Builder{}
		n.last.Grow(max(textPiece, len(number)))
		n.text = append(n.text, "")
	}
	from := n.last.Len()
	n.last.WriteString(number)
	n.text[len(n.text)-1] = n.last.String()
	return uint32((len(n.text)-1)*textPiece + from)
}

func (n *numbers) grow() {
	if n.slots == nil {
		n.seed = maphash.MakeSeed()
	}
	n.slots = make([]int32, max(1024, 2*len(n.slots)))
	for i := range int32(n.count) {
		slot := n.number(i).hash & uint32(len(n.slots)-1)
		for ; n.slots[slot] != 0; slot = (slot + 1) & uint32(len(n.slots)-1) {
		}
		n.slots[slot] = i + 1
	}
}

// Unique adds a problem to a row whose lot number stands in an earlier row of the same site and day, and returns else
// the index by which Number has it. It is called for every row, in the order of the list.
func (l *Lots) Unique(row *ListRow) int32 {
	if row.Lot == nil || row.Lot.Number == "" {
		return -1
	}
	index, line := l.numbers.add(row.Lot.Key(), row.Line)
	if index < 0 {
		problem := tabular.Problem{File: row.Lot.File, Sheet: row.Lot.Sheet, Line: row.Line,
			Column: l.table.Header("lot"), Text: row.Lot.Number, Message: twice(row.Lot, line).Error()}
		row.Problems = append([]tabular.Problem{problem}, row.Problems...)
	}
	return index
}

// Number returns a lot's key by its index.
func (l *Lots) Number(index int32) string { return l.numbers.textOf(l.numbers.number(index)) }

func twice(lot *evaluate.Lot, line int) error {
	where := "the file"
	if lot.Site != "" || lot.SaleDate != "" {
		where = strings.TrimSpace(strings.Join([]string{lot.Site, lot.SaleDate}, " "))
	}
	return fmt.Errorf("lot %q of %s is already on line %d; give one of them another number", lot.Number, where, line)
}
