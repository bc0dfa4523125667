package words

import (
	"bufio"
	"fmt"
	"os"
	"testing"
)

func TestZZ(t *testing.T) {
	f, _ := os.Open(os.Getenv("ZZ"))
	s := bufio.NewScanner(f)
	for s.Scan() {
		r := Starter().Read(s.Text())
		fmt.Printf("%s\n      => %s  %v %v\n", s.Text(), r.Code, r.Extras, r.Unknown)
	}
}
