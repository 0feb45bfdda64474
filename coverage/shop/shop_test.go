package shop

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/coverage/plate"
)

func TestDemoLoads(t *testing.T) {
	s, err := Load(Demo(), "demo")
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Process(s.DefaultProcess)
	if err != nil {
		t.Fatal(err)
	}
	if p.White != plate.Under || p.Choke.MM() != 0.15 || p.WhiteDensity != 100 {
		t.Errorf("process %+v", p)
	}
	for _, st := range p.Steps { // 302 °F is 150 °C exactly
		if (st.TemperatureC == 0) != (st.TemperatureF == 0) || (st.TemperatureC == 150 && st.TemperatureF != 302) {
			t.Errorf("%g °C are %g °F", st.TemperatureC, st.TemperatureF)
		}
	}
	pr, _ := s.Printer(p.Printer)
	if y := pr.Toner["magenta"]; y.Page.Name != "A4" || y.CoveragePercent.String() != "5" || y.Correction.String() != "1" {
		t.Errorf("defaults are not filled in: %+v", y)
	}
	m, _ := s.Medium("decal paper")
	if pr.TACPercent(m) != 220 {
		t.Errorf("limit %g, want the medium's 220", pr.TACPercent(m))
	}
	if m, _ = s.Medium("light film"); pr.TACPercent(m) != 240 {
		t.Errorf("limit %g, want the printer's 240", pr.TACPercent(m))
	}
}

func TestMistakes(t *testing.T) {
	good := string(Demo())
	for name, c := range map[string]struct{ old, new, want string }{
		"syntax":         {"[layout]", "[layout", "shop.toml:"},
		"unknown key":    {"smallest_line = \"0.4 mm\"", "smalest_line = \"0.4 mm\"", "no key is called"},
		"length":         {"margin = \"5 mm\"", "margin = \"wide\"", "write a number and mm"},
		"money":          {"price = \"74.00\"", "price = \"74,00\"", "shop.toml:"},
		"no currency":    {"currency = \"EUR\"", "", "currency is missing"},
		"grades":         {"near = 3.5", "near = 1.0", "rise from close to near"},
		"tac":            {"tac_percent = 240", "tac_percent = 900", "tac_percent must be"},
		"black":          {"black = \"medium\"", "black = \"inky\"", "black generation"},
		"yield":          {"yield_pages = 7000", "yield_pages = 0", "toner.black: yield_pages"},
		"toner name":     {"[printer.toner.yellow]", "[printer.toner.gold]", "no toner is called \"gold\""},
		"white rule":     {"white = \"under\"\nwhite_d", "white = \"behind\"\nwhite_d", "white rule"},
		"threshold":      {"white_threshold_percent = 0", "white_threshold_percent = 120", "white_threshold_percent must be"},
		"contrast":       {"white_contrast_percent = 85", "white_contrast_percent = 185", "white_contrast_percent must be"},
		"media price":    {"price_each = \"0.85\"", "price_each = \"-1\"", "price_each must not be negative"},
		"media name":     {"media = \"light film\"", "media = \"lite film\"", "no media is called \"lite film\""},
		"item colour":    {"colour = \"#17171a\"", "colour = \"#17171\"", "hexadecimal"},
		"sheet":          {"name = \"white film\"\nsheet = \"A4\"", "name = \"white film\"\nsheet = \"B4711\"", "write one of"},
		"twice":          {"name = \"white tee\"", "name = \"black tee\"", "two items are called"},
		"default":        {"default_process = \"dark garment\"", "default_process = \"none such\"", "default_process"},
		"nearest key":    {"smallest_gap = ", "smalest_gap = ", "is smallest_gap meant?"},
		"nearest table":  {"[labour]", "[labor]", "is labour meant?"},
		"nearest deep":   {"life_pages = 30000", "live_pages = 30000", "is life_pages meant?"},
		"line of a key":  {"smallest_dot = \"0.3 mm\"", "smallest_dot = \"-1 mm\"", "shop.toml:LINE: media \"two-part dark film\": smallest_dot must not be negative"},
		"line of a step": {"temperature_c = 152", "temperature_c = 1520", "shop.toml:LINE: process.step \"dark garment\": temperature_c must be from 0 to 260"},
		"line of toner":  {"yield_pages = 7000", "yield_pages = -5", "shop.toml:LINE: printer.toner.black \"bench printer\": toner.black: yield_pages"},
		"huge":           {"price = \"74.00\"", "price = \"1e999999999\"", "shop.toml:LINE: printer.toner.black \"bench printer\": price has more than 15 digits"},
		"tiny":           {"rate_hour = \"24.00\"", "rate_hour = \"1e-999999999\"", "shop.toml:LINE: labour: rate_hour has more than"},
		"huge rule":      {"round_to = \"0.05\"", "round_to = \"1e999999999\"", "write a step such as"},
		"pack":           {"pack_sheets = 100", "pack_sheets = 0", "pack_sheets must be the number"},
		"pair":           {"sheets_per_transfer = 2", "sheets_per_transfer = 3", "must be 1, or 2"},
		"two prices":     {"pack_sheets = 100", "pack_sheets = 100\nprice_each = \"1\"", "either price_each or pack_price"},
		"cover":          {"cover = \"silicone sheet\"  ", "cover = \"silicon sheet\"  ", "no cover is called \"silicon sheet\""},
		"deed":           {"do = \"marry\"", "do = \"wed\"", "choose one of pre-press, marry, press"},
		"peel":           {"peel = \"hot\"", "peel = \"boiling\"", "choose one of hot, warm, cold"},
		"spoilage":       {"spoilage_percent = \"4\"", "spoilage_percent = \"100\"", "spoilage_percent must be below 100"},
		"margin":         {"margin_percent = \"45\"", "margin_percent = \"100\"", "margin_percent must be below 100"},
		"two ways":       {"margin_percent = \"45\"", "margin_percent = \"45\"\nmarkup_percent = \"80\"", "give one of margin_percent"},
		"rounding":       {"round_to = \"0.05\"", "round_to = \"nice\"", "write a step such as 0.05"},
		"quantities":     {"quantities = [1, 12, 48]", "quantities = [12, 1]", "must be above 0 and rise"},
		"life":           {"life_pages = 60000", "life_pages = 0", "life_pages must be above 0"},
		"no white toner": {"[printer.toner.white]\nprice = \"196.00\"\nyield_pages = 4500", "", "has no toner.white"},
	} {
		t.Run(name, func(t *testing.T) {
			if !strings.Contains(good, c.old) {
				t.Fatalf("the demo has no %q", c.old)
			}
			line := strings.Count(good[:strings.Index(good, c.old)], "\n") + 1
			c.want = strings.Replace(c.want, "LINE", fmt.Sprint(line), 1)
			_, err := Load([]byte(strings.Replace(good, c.old, c.new, 1)), "shop.toml")
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want %q in it", err, c.want)
			} else if !strings.Contains(err.Error(), "shop.toml") {
				t.Errorf("error %q does not name the file", err)
			}
		})
	}
	if _, err := Load(nil, "empty.toml"); err == nil || strings.Count(err.Error(), "\n") < 3 {
		t.Errorf("an empty file: %v, want every mistake on its line", err)
	}
}

// TestMoneyIsExact writes a price as a bare number, which must be read digit by
// digit and not by way of a binary fraction.
func TestMoneyIsExact(t *testing.T) {
	for _, v := range []string{"74.10", "0.1", "1e2", "123456789012.12"} {
		s, err := Load([]byte(strings.Replace(string(Demo()), "price = \"74.00\"", "price = "+v, 1)), "shop.toml")
		if err != nil {
			t.Fatal(err)
		}
		if got := s.Printers[0].Toner["black"].Price; !got.Equal(decimal.RequireFromString(v)) {
			t.Errorf("price %s was read as %s", v, got)
		}
	}
}

func TestNotFoundListsNames(t *testing.T) {
	s, _ := Load(Demo(), "demo")
	if _, err := s.Item("pink tee"); err == nil || !strings.Contains(err.Error(), "black tee, white tee") {
		t.Errorf("error %v", err)
	}
}

func FuzzLoad(f *testing.F) {
	f.Add(Demo())
	f.Fuzz(func(t *testing.T, b []byte) {
		if s, err := Load(b, "fuzz"); err == nil {
			if _, err := s.Process(s.DefaultProcess); err != nil {
				t.Error("a shop without its default process passed")
			}
		}
	})
}

func ExampleLoad() {
	s, err := Load(Demo(), "demo")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.Name, "works in", s.Currency)
	// Output: Saltfen Transfer Bench works in EUR
}

// TestItemColours has what an item's colour is where the file writes none.
func TestItemColours(t *testing.T) {
	for name, c := range map[string]struct {
		text, hex, seen string
	}{
		"mixed":  {`colours = ["black", "white"]`, "#bcbcbc", ""}, // by hand: the mean of what IEC 61966-2-1 decodes
		"shares": {"colours = [\"navy\", \"white\", \"navy\"]\nshares = [33.3, 33.3, 33.3]", "#9c9cb8", ""},
		"clear":  {"clear = true", "#777777", Front},
		"behind": {"clear = true\nbehind = \"navy\"\nseen = \"through\"", "#000080", Through},
	} {
		s, err := Load([]byte(strings.Replace(string(Demo()), `colour = "#f6f6f3"`, c.text, 1)), "shop.toml")
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if v := s.Items[1]; v.Colour.Lab.Hex() != c.hex || v.Seen != c.seen {
			t.Errorf("%s: %s seen %q, want %s seen %q", name, v.Colour.Lab.Hex(), v.Seen, c.hex, c.seen)
		}
	}
}
