package show

import (
	"fmt"
	"strings"
	"testing"

	"laydown/coverage/flaw"
	"laydown/coverage/order"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/proof"
	"laydown/coverage/sheet"
)

// blockProof is a proof of which a block shows everything, with so many stops and checks.
func blockProof(stops, checks int) *proof.Proof {
	p := &proof.Proof{Head: &proof.Head{DemoShop: true, Assumed: []order.Assumption{
		{Field: "process", Value: "dark garment", Because: "it is the cheapest of all: EUR 1", InShort: "cheapest that looks right"}, {Field: "item", Value: "black tee", Because: "it is the shop's default"}}},
		Artwork: proof.Artwork{File: "heron-badge.png"}, Print: proof.Print{WidthMM: 84.7, HeightMM: 84.7, DPI: 300},
		Item: proof.Item{Name: "black tee"}, Process: proof.Process{Name: "dark garment", WhiteRule: string(plate.Under), Mirrored: true},
		Sheet: sheet.Holding{Name: "A4", Copies: 6}, Quoted: &proof.QuoteFacts{Currency: "EUR", Places: 2}}
	for _, q := range []int{1, 12, 48} {
		p.Quoted.Quantities = append(p.Quoted.Quantities, proof.QuoteQuantity{Quantity: q, Sheets: q, CostEach: price.Breakdown{}, PriceEach: "10.45", EachAsked: "10.45"})
	}
	for i := range stops {
		p.Findings = append(p.Findings, flaw.Finding{Severity: flaw.Stop, Kind: flaw.Kind(fmt.Sprintf("stop-%d", i)), Measured: 0.25, Limit: 0.4, Unit: "mm"})
	}
	for i := range checks {
		p.Findings = append(p.Findings, flaw.Finding{Severity: flaw.Look, Kind: flaw.Kind(fmt.Sprintf("check-%d", i)), Measured: 0.25, Limit: 0.4, Unit: "mm"})
	}
	return p
}

// TestBlockLosesNothing sets blocks with more and more to say: the verdict is their first line
// with whose prices these are, all that stops the print is named and told from what is to be
// checked, nothing is cut off, and at 80 columns eight lines hold them as long as the stops
// themselves do not need more.
func TestBlockLosesNothing(t *testing.T) {
	for stops := range 7 {
		for checks := range 7 {
			for _, width := range []int{40, 80, 120} {
				out := Block(blockProof(stops, checks), Style{Width: width})
				first, _, _ := strings.Cut(out, "\n")
				want := "Print."
				if checks > 0 {
					want = "Check first: "
				}
				if stops > 0 {
					want = "Do not print: "
				}
				if !strings.HasPrefix(first, want) {
					t.Errorf("the first line is %q, want %q", first, want)
				}
				if n := strings.Count(out, "\n"); width >= 80 && n > blockLines {
					t.Errorf("%d stops, %d checks at %d: %d lines:\n%s", stops, checks, width, n, out)
				}
				words := strings.Join(strings.Fields(out), " ")
				for i := range stops {
					if !strings.Contains(words, fmt.Sprintf("stop-%d", i)) {
						t.Errorf("%d stops, %d checks at %d: no stop-%d:\n%s", stops, checks, width, i, out)
					}
				}
				if stops > 0 && !strings.Contains(words, "why stop: stop-0") {
					t.Errorf("stops are not told from checks:\n%s", out)
				}
				if checks > 0 && !strings.Contains(words, "check: check-0") && !strings.Contains(words, fmt.Sprintf("and %d to check", checks)) {
					t.Errorf("%d stops, %d checks at %d: the checks are lost:\n%s", stops, checks, width, out)
				}
				for _, want := range []string{"Demo prices, all invented.", "printed mirrored", "for 1, ", "for 48", "process not named: dark garment, cheapest that looks right; item: black tee"} {
					if !strings.Contains(words, want) || strings.Contains(words, "…") {
						t.Errorf("%d stops, %d checks at %d: without %q, or cut off:\n%s", stops, checks, width, want, out)
					}
				}
			}
		}
	}
}

// TestBlockFoldsLongNames has a long file name whole.
func TestBlockFoldsLongNames(t *testing.T) {
	p := blockProof(1, 0)
	p.Artwork = proof.Artwork{File: "harbour-festival-2026-front-print-final-for-the-printer-v7.png"}
	if out := strings.Join(strings.Fields(Block(p, Style{Width: 80})), " "); !strings.Contains(out, p.Artwork.File) {
		t.Error(out)
	}
}

// TestWholeSheetsAreSaid has a quantity that counts sheets say so.
func TestWholeSheetsAreSaid(t *testing.T) {
	p := blockProof(0, 0)
	p.Quoted.SoldBy = "sheet"
	out := strings.Join(strings.Fields(Block(p, Style{Width: 120})), " ")
	for _, want := range []string{"price EUR 10.45 for 1 sheet, 10.45 a sheet for 12 sheets"} {
		if !strings.Contains(out, want) {
			t.Errorf("%s\nwithout %q", out, want)
		}
	}
}
