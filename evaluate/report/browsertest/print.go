package browsertest

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"testing"

	"github.com/chromedp/chromedp"
)

// PDF prints the page on A4, or on the paper that its style sheet names.
func (p *Page) PDF(t testing.TB) []byte {
	t.Helper()
	pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4),
		chromedp.PDFPreferCSSPageSize()))
	if err != nil {
		t.Fatal(err)
	}
	return pdf
}

var (
	pageObject = regexp.MustCompile(`/Type\s*/Page[^s\w]`)
	pageTree   = regexp.MustCompile(`/Count\s+(\d+)`)
)

// Pages counts the pages of a PDF that the browser printed: its page objects,
// which must be as many as the root of its page tree counts.
func Pages(pdf []byte) (int, error) {
	if !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		return 0, fmt.Errorf("%.20q does not start a PDF", pdf)
	}
	n, most := len(pageObject.FindAll(pdf, -1)), 0
	for _, m := range pageTree.FindAllSubmatch(pdf, -1) {
		count, err := strconv.Atoi(string(m[1]))
		if err != nil {
			return 0, err
		}
		most = max(most, count)
	}
	if n == 0 || n != most {
		return 0, fmt.Errorf("%d page objects, but the page tree counts %d", n, most)
	}
	return n, nil
}
