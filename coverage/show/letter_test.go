package show

import (
	"bytes"
	"fmt"
	"os/exec"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/colour/reference"
	"laydown/coverage/flaw"
	"laydown/coverage/price"
	"laydown/coverage/proof"
	"laydown/coverage/shop"
)

// internal are words that a customer must never read.
var internal = []string{"secretprocess", "secretfilm", "secretcost", "777.77", "55.55", "margin", "toner", "spoil", "fine-line"}

// someWhole is an order of so many goods, whose figures for the shop are told apart.
func someWhole(goods int) *proof.Whole {
	w := &proof.Whole{Number: "118", Customer: "Ünder & <Sons>", Date: "2026-11-27", ValidUntil: "2026-12-27", Due: "2026-12-10", Currency: "EUR", Prices: shop.Net,
		GoodsTotal: "100.00", Lift: "0.00", Discount: "5.00", Rush: "0.00", Charges: []proof.WholeCharge{{Name: "delivery", Amount: "6.50"}}, Total: "101.50",
		Taxes: []proof.WholeTax{{Percent: "7", On: "50.00", Amount: "3.50"}, {Percent: "19", On: "51.50", Amount: "9.79"}}, WithoutTax: "101.50", WithTax: "114.79", Deposit: "57.40",
		MarginPercent: "55.55", Cost: price.Breakdown{Total: decimal.RequireFromString("777.77")}, Head: &proof.Head{Stops: []proof.Stop{{Kind: flaw.FineLine, Advice: "x"}}},
		Letter: proof.Letter{Paper: shop.A4, Shop: "Our Bench", From: []string{"Lane 4"}, To: []string{"Quay 2"}, TaxName: "VAT", TaxNumber: "T-77", DiscountPercent: "5", DepositP: "50", Words: []string{"Pay soon."}, Note: "Thank you."}}
	for i := range goods {
		w.Goods = append(w.Goods, proof.WholeGoods{Name: fmt.Sprintf("Goods %d", i), Item: "black tee", ItemSaid: "black tee", Quantity: 4, OwnBlanks: i == 0, Cost: w.Cost, CostEach: "777.77", PriceTotal: "40.00",
			Sizes: []proof.WholeSize{{Size: "M", Quantity: 2, PriceEach: "9.00", Total: "18.00"}, {Size: "2XL", Quantity: 1, PriceEach: "11.00", Total: "11.00"}, {Size: "L", Quantity: 1, PriceEach: "9.00", Total: "9.00"}},
			Prints: []proof.WholePrint{{Art: "badge.png", Place: "chest", Process: "secretprocess", Media: "secretfilm", Designs: []proof.Design{{SizeMM: [2]float64{80, 60.5}}}},
				{Text: "{name}", Place: "back", Designs: make([]proof.Design, 4)}}})
	}
	return w
}

// TestLetter: the customer's quote has what is agreed and nothing of the shop's own, on one
// page of A4 up to forty goods, the same bytes every time.
func TestLetter(t *testing.T) {
	w := someWhole(3)
	html, err := LetterPage(w)
	if err != nil {
		t.Fatal(err)
	}
	pdf, err := LetterPDF(w)
	if err != nil {
		t.Fatal(err)
	}
	again, err := LetterPDF(w)
	if err != nil || !bytes.Equal(pdf, again) {
		t.Errorf("the same quote makes other bytes, %v", err)
	}
	read := func(of []byte) string {
		c := exec.Command(reference.Tool(t, "pdftotext"), "-layout", "-", "-")
		c.Stdin = bytes.NewReader(of)
		out, err := c.Output()
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	asText := read(pdf)
	_, body, _ := bytes.Cut(html, []byte("</style>"))
	for name, text := range map[string]string{"HTML": strings.NewReplacer("&amp;", "&", "&lt;", "<", "&gt;", ">").Replace(string(body)), "PDF": asText} {
		for _, want := range []string{"Quote 118", "Our Bench", "Lane 4", "VAT T-77", "Ünder & <Sons>", "Quay 2", "2026-12-27", "2026-12-10", "2 × M, 1 × L", "1 × 2XL", "27.00", "11.00", "chest: badge.png", "80 × 60 mm", "back: names",
			"on the pieces", "Discount, 5 % off", "-5.00", "Delivery", "VAT of 7 % on 50.00", "VAT of 19 % on 51.50", "9.79", "101.50", "114.79", "57.40", "Pay soon.", "Thank you.", "needs changes"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s has no %q:\n%s", name, want, text)
			}
		}
		for _, never := range internal {
			if strings.Contains(strings.ToLower(text), never) {
				t.Errorf("%s tells the customer %q", name, never)
			}
		}
	}
	for goods, want := range map[int]int{1: 1, 14: 1, 80: 0} {
		b, err := LetterPDF(someWhole(goods))
		if err != nil {
			t.Fatal(err)
		}
		text := read(b)
		pages := strings.Count(text, "\f")
		if want > 0 && pages != want || want == 0 && pages < 2 {
			t.Errorf("%d goods take %d pages", goods, pages)
		}
		if !strings.Contains(text, fmt.Sprintf("Goods %d,", goods-1)) || !strings.Contains(text, "114.79") {
			t.Errorf("%d goods: the end is cut off", goods)
		}
	}
}

func TestBillRowsOfGross(t *testing.T) {
	w := someWhole(1)
	w.Prices = shop.Gross
	got := ""
	for _, r := range billRows(w) {
		got += r.Name + " " + r.Amount + "\n"
	}
	for _, want := range []string{"in all, with VAT 114.79\n", "in it VAT of 7 % on 50.00 3.50\n"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	if strings.Contains(got, "without") {
		t.Error(got)
	}
}
