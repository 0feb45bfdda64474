package shop

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"laydown/coverage/form"
)

// second is what the second of everything looks like, behind the demo's own. Its names
// are partly those of the first, so that nothing finds its line by a name.
const second = `
[[printer]]
name = "spare printer"
toner.cyan = {price = 1, yield_pages = 1}
toner.magenta = {price = 1, yield_pages = 1}
[printer.toner.yellow]
price = 1
yield_pages = 1
[printer.toner.black]
price = 1
yield_pages = 7
[[printer.wear]]
name = "drums"
price = 1
life_pages = 1
[[printer.wear]]
price = 1
life_pages = 2

[[cover]]
name = "pad"
price = 1
uses = 3

[[media]]
name = "spare film"
sheet = "A4"
price_each = 3

[[item]]
name = "spare tee"
colour = "navy"
price = 3

[[process]]
name = "spare work"
printer = "bench printer"
media = "spare film"
white = "none"
[[process.step]]
do = "press"
seconds = 3
[[process.step]]
do = "peel"
seconds = 4
`

const card = `
[[pricing.rate]]
from = 1
each = 9
[[pricing.rate]]
from = 12
each = 8
`

// swapped is a text in which the last old is new.
func swapped(t *testing.T, text, old, new string) string {
	i := strings.LastIndex(text, old)
	if i < 0 {
		t.Fatalf("the text has no %q", old)
	}
	return text[:i] + new + text[i+len(old):]
}

// marked is the line of the mark #!.
func marked(t *testing.T, text string) int {
	before, after, ok := strings.Cut(text, "#!")
	if !ok || strings.Contains(after, "#!") {
		t.Fatalf("the text must have one mark")
	}
	return strings.Count(before, "\n") + 1
}

// TestEveryMistake makes each mistake alone and asks for its exact message. The mark #!
// is on the line that it must name.
func TestEveryMistake(t *testing.T) {
	if _, err := Load([]byte(string(demo)+second), "shop.toml"); err != nil {
		t.Fatal(err)
	}
	rates := strings.Replace(string(demo), "margin_percent = \"45\"", "", 1) + card
	if _, err := Load([]byte(rates), "shop.toml"); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ base, old, new, want string }{
		// the top
		{"", "currency = \"EUR\"", "currency = 5 #!", `currency must be text in quotes, not a whole number`},
		{"", "default_item = \"black tee\"", "default_item = \"gold tee\" #!", `default_item: no item is called "gold tee": the shop file has black tee, white tee, enamel mug, china mug, steel tumbler, steel plate, glass coaster, birch board, outside sticker, inside sticker, forearm, loose tattoo, transfer sheet, spare tee`},
		{"", "default_process = \"dark garment\"", "default_process = \"x\" #!", `default_process: no process is called "x": the shop file has dark garment, light garment, white film, decal on white, temporary tattoo, gold foil, flat hard goods, round hard goods, outside film, inside film, spare work`},
		{"", "currency =", "curency = \"EUR\" #!\ncurrency =", `no key is called "curency" here; is currency meant? The comments of laydown init list all keys.`},
		{"", "currency =", "time_zone = \"Here/There\" #!\ncurrency =", `time_zone: no zone is called "Here/There": write a name of the IANA list, such as Europe/Vienna or America/Chicago`},
		{"", "currency =", "time_zone = \"Local\" #!\ncurrency =", `time_zone: no zone is called "Local": write a name of the IANA list, such as Europe/Vienna or America/Chicago`},
		{"", "currency =", "zz.top = 5 #!\ncurrency =", `no key is called "zz" here. The comments of laydown init list all keys.`},
		{"", "[match]", "[mismatched] #!\nclose = 1\n[match]", `no key is called "mismatched" here; is match meant? The comments of laydown init list all keys.`},
		{"", "[match]", "[[mixed]] #!\n[[mixed]]\n[match]", `no key is called "mixed" here. The comments of laydown init list all keys.`},
		// [layout]
		{"", "margin = \"5 mm\"", "margin = \"-5 mm\" #!", `layout: margin must not be negative`},
		{"", "gap = \"4 mm\"", "gap = -4 #!", `layout: gap must not be negative`},
		{"", "bleed = \"0 mm\"", "bleed = \"-1 pt\" #!", `layout: bleed must not be negative`},
		{"", "cutter = \"0 mm\"", "\"cutter\" = \"-1 in\" #!", `layout: cutter must not be negative`},
		{"", "cutter_corner = \"0 mm\"", "cutter_corner = \"201 mm\" #!", `layout: cutter_corner must be at most 200 mm`},
		{"", "# cutter_corner = \"15 mm\"", "cutter_corner = \"-1 mm\" #!", `media "two-part dark film": cutter_corner must not be negative`},
		{"", "margin = \"5 mm\"", "margin = \"wide\" #!", `layout: margin: length "wide": write a number and mm, cm or in, such as 80mm or 3.5in`},
		{"", "margin = \"5 mm\"", "margin = true #!", `layout: margin must be a length such as "5 mm", not true or false`},
		// [match]
		{"", "close = 2.0", "close = -2.0 #!", `match: close: grade limits -2, 3.5, 6 must be above 0 and rise from close to near to visible`},
		{"", "near = 3.5", "near = 1 #!", `match: near: grade limits 2, 1, 6 must be above 0 and rise from close to near to visible`},
		{"", "visible = 6.0", "visible = 3 #!", `match: visible: grade limits 2, 3.5, 3 must be above 0 and rise from close to near to visible`},
		{"", "close = 2.0                          # nobody will object\nnear = 3.5 ", "close = 4 #!\n#", `match: close: grade limits 4, 3.5, 6 must be above 0 and rise from close to near to visible`},
		{"", "counts_as = 5.0", "counts_as = -5 #!", `match: counts_as must not be negative`},
		{"", "counts_as = 5.0", "counts_as = nan #!", `match: counts_as = nan is not a number to reckon with`},
		{"", "counts_as = 5.0", "counts_as = 1e999 #!", `match: counts_as = 1e999 is not a number to reckon with`},
		// [labour], [costs]
		{"", "rate_hour = \"24.00\"", "rate_hour = \"-24\" #!", `labour: rate_hour must not be negative`},
		{"", "rate_hour = \"24.00\"", "rate_hour = \"24,00\" #!", `labour: rate_hour = "24,00": write an amount with a decimal point, such as "12.50"`},
		{"", "rate_hour = \"24.00\"", "rate_hour = 1e-999999999 #!", `labour: rate_hour has more than 15 digits on one side of its point`},
		{"", "rate_hour = \"24.00\"", "rate_hour = [24] #!", `labour: rate_hour must be an amount such as "12.50", not a list`},
		{"", "heat_press_seconds = \"20\"", "heat_press_seconds = -20 #!", `labour: heat_press_seconds must not be negative`},
		{"", "cut_mm_second = \"5\"", "cut_mm_second = 0 #!", `labour: cut_mm_second must be above 0: how many mm of outline a person cuts along in a second`},
		{"", "heat_press_seconds = \"20\"", "press_seconds = -20 #!", `labour: press_seconds must not be negative`},
		{"", "heat_press_seconds = \"20\"", "press_seconds = true #!", `labour: press_seconds must be an amount such as "12.50", not true or false`},
		{"", "heat_press_seconds = \"20\"", "heat_press_seconds = 20\npress_seconds = 30 #!", `labour: heat_press_seconds and press_seconds mean the same: leave one of them out`},
		{"", "heat_press_hour = \"0.90\"", "press_hour = 1\nheat_press_hour = 1 #!", `costs: press_hour and heat_press_hour mean the same: leave one of them out`},
		{"", "heat_press_hour = \"0.90\"", "press_hour = -1 #!", `costs: press_hour must not be negative`},
		{"", "spoilage_percent = \"4\"", "spoilage_percent = 100 #!", `costs: spoilage_percent must be below 100`},
		{"", "spoilage_percent = \"4\"", "spoilage_percent = 4\nSpoilage_Percent = 5 #!", `costs: spoilage_percent and Spoilage_Percent mean the same: leave one of them out`},
		{"", "[costs]", "[cost] #!", `no key is called "cost" here; is costs meant? The comments of laydown init list all keys.`},
		// [pricing]
		{"", "margin_percent = \"45\"", "margin_percent = 100 #!", `pricing: margin_percent must be below 100: it is a part of the price`},
		{"", "margin_percent = \"45\"", "margin_percent = 45\nmarkup_percent = 80 #!", `pricing: give one of margin_percent, markup_percent and [[pricing.rate]], not 2 of them`},
		{"", "margin_percent = \"45\"", "margin_percent = 45\nrate = [{from = 1, each = 2}] #!", `pricing: give one of margin_percent, markup_percent and [[pricing.rate]], not 2 of them`},
		{"", "round_to = \"0.05\"", "round_to = \"nice\" #!", `pricing: round_to "nice": write a step such as 0.05 or 1, or an ending such as .95, with at most 2 decimal places`},
		{"", "minimum_order = \"18.00\"", "minimum_order = \"18.005\" #!", `pricing: minimum_order = 18.005 has more than the 2 decimal places of EUR`},
		{"", "price_each = 3", "price_each = 9.505 #!", `media "spare film": price_each = 9.505 has more than the 2 decimal places of EUR`},
		{"", "price_each = 3", "price_each = 3\n[[media.size]]\nsheet = \"A4\" #!\nprice_each = 2", `media.size "spare film": sheet A4 is there twice`},
		{"", "price_each = 3", "price_each = 3\n[[media.size]] #!\nsheet = \"A3\"", `media.size "spare film": price_each is missing: write for example price_each = "1.70", or pack_price and pack_sheets`},
		{"", "seconds = 4", "seconds = 4\nper = \"pair\" #!", `process.step "spare work": per = "pair", but a transfer of "spare film" is one sheet: write per = "sheet", or sheets_per_transfer = 2 for the media`},
		{"", "seconds = 4", "seconds = 4\nper = \"day\" #!", `process.step "spare work": per = "day": choose one of order, pair, sheet, piece`},
		{"", "rounding = \"half-up\"", "rounding = \"up\" #!", `pricing: rounding "up": choose half-up or half-even`},
		{"", "quantities = [1, 12, 48]", "quantities = [1,\n12, 12, #!\n48]", `pricing: quantities must be above 0 and rise`},
		{"", "quantities = [1, 12, 48]", "quantities = [1,\n\"12\", #!\n48]", `pricing: quantities must be a whole number, not text`},
		{"", "quantities = [1, 12, 48]", "quantities = 12 #!", `pricing: quantities must be a list in square brackets, not a whole number`},
		{"", "quantities = [1, 12, 48]", "quantities = [99999999999999999999] #!", `pricing: quantities = 99999999999999999999 has more digits than a whole number may have`},
		{rates, "from = 1\n", "from = 2 #!\n", `pricing.rate: rates must rise from = 1 on`},
		{rates, "from = 12", "from = 1 #!", `pricing.rate: rates must rise from = 1 on`},
		{rates, "each = 8", "each = -8 #!", `pricing.rate: each must not be negative`},
		{rates, "each = 8", "every = 8 #!", `pricing.rate: no key is called "every" here. The comments of laydown init list all keys.`},
		// [[printer]]
		{"", "\nname = \"spare printer\"", " #!", `printer: a printer has no name`},
		{"", "name = \"spare printer\"", "name = \"bench printer\" #!", `printer "bench printer": name: two printers are called "bench printer"`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\ntac_percent = 401 #!", `printer "spare printer": tac_percent must be above 0 and at most 400`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\ntac_percent = \"much\" #!", `printer "spare printer": tac_percent must be a number, not text`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nblack = \"inky\" #!", `printer "spare printer": black generation "inky": choose one of none, light, medium, heavy, full`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nwhite_contrast_percent = 101 #!", `printer "spare printer": white_contrast_percent must be above 0 and at most 100`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nwhite_on_black = \"80,0,0\"\nwhite_on_white = \"90,0,0\"\nwhite_contrast_percent = 85 #!", `printer "spare printer": give either white_contrast_percent or white_on_black and white_on_white`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nwhite_on_black = \"80,0,0\" #!", `printer "spare printer": white_on_black and white_on_white go together: measure solid white over both grounds`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nwhite_on_white = \"80,0,0\" #!", `printer "spare printer": white_on_black and white_on_white go together: measure solid white over both grounds`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nwhite_ground = \"80,0,0\" #!", `printer "spare printer": white_ground says what white_on_black and white_on_white were measured over: write these too, or leave it out`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nblack_ground = \"8,0,0\" #!", `printer "spare printer": black_ground says what white_on_black and white_on_white were measured over: write these too, or leave it out`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nwhite_on_black = \"80,0,0\"\nwhite_on_white = \"70,0,0\" #!", `printer "spare printer": white_on_white: solid white cannot be darker over the white ground, L* 70.0, than over the black, L* 80.0`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nwhite_on_black = \"80,0,0\"\nwhite_on_white = \"90,0,0\"\nwhite_ground = \"22,0,0\" #!", `printer "spare printer": white_ground: the white ground, L* 22.0, must be lighter than the black, L* 20.0, by 20 or more`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nwhite_on_black = \"80,0,0\"\nwhite_on_white = \"90,0,0\"\nblack_ground = \"90,0,0\" #!", `printer "spare printer": black_ground: the white ground, L* 100.0, must be lighter than the black, L* 90.0, by 20 or more`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nwhite_on_black = \"white as snow\" #!", `printer "spare printer": white_on_black: colour "white as snow" is not known: write #rrggbb, a colour name such as navy, or L,a,b`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nmachine_hour = -1 #!", `printer "spare printer": machine_hour must not be negative`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\ntac_prercent = 1 #!", `printer "spare printer": no key is called "tac_prercent" here; is tac_percent meant? The comments of laydown init list all keys.`},
		{"", "[[printer]]\nname = \"spare printer\"\ntoner.cyan = {price = 1, yield_pages = 1}", "[[printer]] #!\nname = \"spare printer\"", `printer "spare printer": has no toner.cyan`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nprinter = \"x\" #!", `printer "spare printer": no key is called "printer" here. The comments of laydown init list all keys.`},
		// [printer.toner]
		{"", "yield_pages = 7", "yield_pages = 0 #!", `printer.toner.black "spare printer": toner.black: yield_pages must be above 0`},
		{"", "yield_pages = 7", "yield_pages = 0.5 #!", `printer.toner.black "spare printer": yield_pages must be a whole number, not a number that is not whole`},
		{"", "yield_pages = 7", "yield_pages = 7\npage = \"B9\" #!", `printer.toner.black "spare printer": page: sheet "B9": write one of A2, A3, A4, A5, A6, Letter, Legal, Tabloid, or its sides such as 210x297mm`},
		{"", "yield_pages = 7", "yield_pages = 7\ncoverage_percent = 101 #!", `printer.toner.black "spare printer": toner.black: coverage_percent must be above 0 and at most 100`},
		{"", "yield_pages = 7", "yield_pages = 7\ncorrection = -1 #!", `printer.toner.black "spare printer": toner.black: correction must be above 0`},
		{"", "toner.cyan = {price = 1, yield_pages = 1}", "toner.cyan = {yield_pages = 1,\nprice = -1} #!", `printer.toner.cyan "spare printer": toner.cyan: price must not be negative`},
		{"", "toner.cyan = {price = 1, yield_pages = 1}", "toner.cyan = {yield_pages = 1,\nprice = 1e999999999} #!", `printer.toner.cyan "spare printer": price has more than 15 digits on one side of its point`},
		{"", "toner.cyan = {price = 1, yield_pages = 1}", "toner.cyan = {price = 1} #!", `printer.toner.cyan "spare printer": yield_pages is missing: write for example yield_pages = 6000`},
		{"", "[printer.toner.black]\nprice = 1\nyield_pages = 7", "[printer.toner.black] #!\nyield_pages = 7", `printer.toner.black "spare printer": price is missing: write for example price = "74.00"`},
		{"", "[printer.toner.black]\n", "[printer.toner.gold] #!\n[printer.toner.black]\n", `printer.toner.gold "spare printer": no toner is called "gold": they are cyan, magenta, yellow, black, white`},
		{"", "toner.cyan = {price = 1, yield_pages = 1}", "toner.cyan = 5 #!", `printer.toner "spare printer": cyan must be a table, not a whole number`},
		// [[printer.wear]]
		{"", "name = \"drums\"\nprice = 1", "name = \"drums\"\nprice = -1 #!", `printer.wear "drums": price must not be negative`},
		{"", "life_pages = 1", "life_pages = 0 #!", `printer.wear "drums": life_pages must be above 0`},
		{"", "life_pages = 2", "life_pages = -2 #!", `printer.wear "spare printer": life_pages must be above 0`},
		{"", "life_pages = 2", "life_pages = 2\nby_area = 1 #!", `printer.wear "spare printer": by_area must be true or false, not a whole number`},
		{"", "life_pages = 2", "life_pages = 2\npage = \"\" #!", `printer.wear "spare printer": page: sheet "": write one of A2, A3, A4, A5, A6, Letter, Legal, Tabloid, or its sides such as 210x297mm`},
		// [[cover]]
		{"", "name = \"pad\"", "name = \"silicone sheet\" #!", `cover "silicone sheet": name: two covers are called "silicone sheet"`},
		{"", "[[cover]]\nname = \"pad\"", "[[cover]] #!", `cover: a cover has no name`},
		{"", "price = 1\nuses = 3", "price = -1 #!\nuses = 3", `cover "pad": price must not be negative`},
		{"", "uses = 3", "uses = 0 #!", `cover "pad": uses must be above 0`},
		{"", "[[cover]]\nname = \"pad\"\nprice = 1\nuses = 3", "[[cover]] #!\nname = \"pad\"", `cover "pad": uses must be above 0`},
		// [[media]]
		{"", "sheet = \"A4\"\nprice_each = 3", "sheet = \"A44\" #!\nprice_each = 3", `media "spare film": sheet "A44": write one of A2, A3, A4, A5, A6, Letter, Legal, Tabloid, or its sides such as 210x297mm`},
		{"", "[[media]]\nname = \"spare film\"\nsheet = \"A4\"", "[[media]] #!\nname = \"spare film\"", `media "spare film": sheet is missing: write for example sheet = "A4"`},
		{"", "price_each = 3", "price_each = -3 #!", `media "spare film": price_each must not be negative`},
		{"", "price_each = 3", "pack_price = 3 #!", `media "spare film": pack_price: pack_sheets must be the number of sheets in the pack`},
		{"", "price_each = 3", "pack_price = 3\npack_sheets = -1 #!", `media "spare film": pack_sheets must be the number of sheets in the pack`},
		{"", "price_each = 3", "pack_price = -3 #!\npack_sheets = 1", `media "spare film": pack_price must not be negative`},
		{"", "price_each = 3", "price_each = 3 #!\npack_price = 3\npack_sheets = 1", `media "spare film": give either price_each or pack_price and pack_sheets`},
		{"", "price_each = 3", "sheets_per_transfer = 3 #!", `media "spare film": sheets_per_transfer must be 1, or 2 where two sheets make one transfer`},
		{"", "price_each = 3", "pages_per_minute = -3 #!", `media "spare film": pages_per_minute must not be negative`},
		{"", "price_each = 3", "tac_percent = 401 #!", `media "spare film": tac_percent must be above 0 and at most 400`},
		{"", "price_each = 3", "smallest_tone_percent = 101 #!", `media "spare film": smallest_tone_percent must be from 0 to 100`},
		{"", "price_each = 3", "heavy_percent = 501 #!", `media "spare film": heavy_percent must be from 0 to 500`},
		{"", "price_each = 3", "band_delta_e = -1 #!", `media "spare film": band_delta_e must be from 0 to 100`},
		{"", "price_each = 3", "smallest_line = -1 #!", `media "spare film": smallest_line must not be negative`},
		{"", "price_each = 3", "smallest_gap = -1 #!", `media "spare film": smallest_gap must not be negative`},
		{"", "price_each = 3", "smallest_dot = -1 #!", `media "spare film": smallest_dot must not be negative`},
		{"", "price_each = 3", "smallest_text = -1 #!", `media "spare film": smallest_text must not be negative`},
		{"", "price_each = 3", "fade_width = -1 #!", `media "spare film": fade_width must not be negative`},
		{"", "price_each = 3", "soft_edge = -1 #!", `media "spare film": soft_edge must not be negative`},
		{"", "price_each = 3", "heavy_width = -1 #!", `media "spare film": heavy_width must not be negative`},
		{"", "price_each = 3", "good_ppi = 100 #!", `media "spare film": least_ppi must be above 0 and not above good_ppi`},
		{"", "price_each = 3", "good_ppi = 100\nleast_ppi = 101 #!", `media "spare film": least_ppi must be above 0 and not above good_ppi`},
		{"", "price_each = 3", "materials = [\"cotton\",\n5] #!", `media "spare film": materials must be text in quotes, not a whole number`},
		{"", "price_each = 3", "price_each = 3\n[[media]] #!\nsheet = \"A4\"", `media: one of the media has no name`},
		{"", "name = \"spare film\"", "name = \"light film\" #!\nsheet = \"A3\"\n[[media]]\nname = \"spare film\"", `media "light film": name: two media are called "light film"`},
		// [[item]]
		{"", "colour = \"navy\"", "colour = \"navy\"\ndrawn_as = \"teapot\" #!", `item "spare tee": drawn_as = "teapot": choose one of tee, hoodie, cap, mug, tumbler, plate, card, window, skin, plain`},
		{"", "colour = \"navy\"", "colour = \"navy\"\nplace = \"chess\" #!", `item "spare tee": place: a tee has no place "chess": choose one of chest, left chest, right chest, back`},
		{"", "colour = \"navy\"", "colour = \"navy\"\ndrawn_as = \"mug\"\nplace = \"chest\" #!", `item "spare tee": place: a mug has no place "chest": choose one of front`},
		{"", "colour = \"navy\"", "colour = \"navy\"\ndrawn_size = \"wide\" #!", `item "spare tee": drawn_size: sheet "wide": write one of A2, A3, A4, A5, A6, Letter, Legal, Tabloid, or its sides such as 210x297mm`},
		{"", "colour = \"navy\"", "colour = \"navy\"\ndrawn_size = \"10x10001mm\" #!", `item "spare tee": drawn_size: a side must be at most 10000 mm`},
		{"", "colour = \"navy\"", "colour = \"navy\"\ncare = \"wash\" #!", `item "spare tee": care must be a list in square brackets, not text`},
		{"", "colour = \"navy\"", "colour = \"navy\"\ncare = [\"" + strings.Repeat("wash ", 81) + "\"] #!", `item "spare tee": care is 405 characters long, and a customer reads at most 400: say the rest on a sheet of its own`},
		{"", "white = \"none\"", "white = \"none\"\ncare = [\"" + strings.Repeat("wash ", 81) + "\"] #!", `process "spare work": care is 405 characters long, and a customer reads at most 400: say the rest on a sheet of its own`},
		{"", "price_each = 3", "price_each = 3\ncare = [\"" + strings.Repeat("wash ", 81) + "\"] #!", `media "spare film": care is 405 characters long, and a customer reads at most 400: say the rest on a sheet of its own`},
		{"", "paper = \"A4\"", "paper = \"A3\" #!", `terms: paper = "A3": choose one of A4, Letter`},
		{"", "[[item]]\nname = \"spare tee\"", "[[item]] #!", `item: an item has no name`},
		{"", "colour = \"navy\"\nprice = 3", "colour = \"navy\"\nloose = true\nprice = 3 #!", `item "spare tee": loose goods have no blank that costs anything: leave price out`},
		{"", "colour = \"navy\"", "colour = \"navy\"\nsold_by = \"sheet\" #!", `item "spare tee": sold_by is for loose goods: write loose = true as well, or leave it out`},
		{"", "colour = \"navy\"\nprice = 3", "colour = \"navy\"\nloose = true\nsold_by = \"dozen\" #!", `item "spare tee": sold_by = "dozen": choose one of piece, sheet`},
		{"", "name = \"spare tee\"", "name = \"white tee\" #!", `item "white tee": name: two items are called "white tee"`},
		{"", "colour = \"navy\"", "colour = \"#1\" #!", `item "spare tee": colour "#1": write #rrggbb with hexadecimal digits`},
		{"", "colour = \"navy\"", "colour = {} #!", `item "spare tee": colour must be a colour such as "#17171a", not a table`},
		{"", "[[item]]\nname = \"spare tee\"\ncolour = \"navy\"", "[[item]] #!\nname = \"spare tee\"", `item "spare tee": colour is missing: write for example colour = "#17171a"`},
		{"", "colour = \"navy\"\nprice = 3", "colour = \"navy\"\nprice = -3 #!", `item "spare tee": price must not be negative`},
		{"", "colour = \"navy\"", "colour = \"navy\"\nprintable = \"wide\" #!", `item "spare tee": printable: sheet "wide": write one of A2, A3, A4, A5, A6, Letter, Legal, Tabloid, or its sides such as 210x297mm`},
		{"", "colour = \"navy\"", "color = \"navy\" #!", `item "spare tee": no key is called "color" here; is colour meant? The comments of laydown init list all keys.`},
		{"", "colour = \"navy\"", "colour = \"navy\"\nwhite_on_item = \"120,0,0\" #!", `item "spare tee": white_on_item: colour "120,0,0": Lab 120, 0, 0 is out of range: L is 0 to 100, a and b within ±200`},
		{"", "colour = \"navy\"", "colours = [\"navy\", \"white\"]\ncolour = \"navy\" #!", `item "spare tee": give either colour or colours`},
		{"", "colour = \"navy\"", "colours = [\"navy\"] #!", `item "spare tee": colours are two or more: write for example colours = ["#8a8d92", "#2b2d33"], or one as colour`},
		{"", "colour = \"navy\"", "colours = [\"navy\",\n\"navvy\"] #!", `item "spare tee": colours: colour "navvy" is not known: write #rrggbb, a colour name such as navy, or L,a,b`},
		{"", "colour = \"navy\"", "colour = \"navy\"\nshares = [60, 40] #!", `item "spare tee": shares are those of colours: write these in place of colour, or leave shares out`},
		{"", "colour = \"navy\"", "colours = [\"navy\", \"white\"]\nshares = [100] #!", `item "spare tee": shares must be as many as colours, 2`},
		{"", "colour = \"navy\"", "colours = [\"navy\", \"white\"]\nshares = [110,\n-10] #!", `item "spare tee": shares must be above 0`},
		{"", "colour = \"navy\"", "colours = [\"navy\", \"white\"]\nshares = [60, 60] #!", `item "spare tee": shares must be 100 together, not 120`},
		{"", "colour = \"navy\"", "clear = true\ncolour = \"navy\" #!", `item "spare tee": a clear item has no colour: write behind = what lies behind it`},
		{"", "colour = \"navy\"", "clear = true\nshares = [50, 50] #!", `item "spare tee": a clear item has no shares: write behind = what lies behind it`},
		{"", "colour = \"navy\"", "clear = true\nwhite_on_item = \"80,0,0\" #!", `item "spare tee": a clear item has no white_on_item: write behind = what lies behind it`},
		{"", "colour = \"navy\"", "clear = true\nseen = \"back\" #!", `item "spare tee": seen = "back": choose one of front, through`},
		{"", "colour = \"navy\"", "clear = true\nbehind = \"glass\" #!", `item "spare tee": behind: colour "glass" is not known: write #rrggbb, a colour name such as navy, or L,a,b`},
		{"", "colour = \"navy\"", "colour = \"navy\"\nbehind = \"black\" #!", `item "spare tee": behind is for clear items: write clear = true as well, or leave it out`},
		{"", "colour = \"navy\"", "colour = \"navy\"\nclear = false\nseen = \"front\" #!", `item "spare tee": seen is for clear items: write clear = true as well, or leave it out`},
		{"", "colour = \"navy\"", "clear = \"yes\" #!", `item "spare tee": clear must be true or false, not text`},
		{"", "colour = \"navy\"", "colour = \"navy\"\nfinish = \"gloss\" #!", `item "spare tee": finish = "gloss": choose one of matte, satin, mirror`},
		{"", "colour = \"navy\"", "clear = true\nfinish = \"mirror\" #!", `item "spare tee": a clear item has no finish: write behind = what lies behind it`},
		// [[process]]
		{"", "[[process]]\nname = \"spare work\"", "[[process]] #!", `process: a process has no name`},
		{"", "name = \"spare work\"", "name = \"white film\" #!", `process "white film": name: two processes are called "white film"`},
		{"", "printer = \"bench printer\"", "printer = \"x\" #!", `process "spare work": no printer is called "x": the shop file has bench printer, spare printer`},
		{"", "[[process]]\nname = \"spare work\"\nprinter = \"bench printer\"", "[[process]] #!\nname = \"spare work\"", `process "spare work": no printer is called "": the shop file has bench printer, spare printer`},
		{"", "media = \"spare film\"", "media = \"x\" #!", `process "spare work": no media is called "x": the shop file has two-part dark film, light film, white film, decal paper, hard goods film, window film, spare film`},
		{"", "white = \"none\"", "cover = \"x\" #!", `process "spare work": no cover is called "x": the shop file has silicone sheet, pad`},
		{"", "white = \"none\"", "white = \"x\" #!", `process "spare work": white rule "x": choose one of none, under, knockout, tonal, all`},
		{"", "printer = \"bench printer\"\nmedia = \"spare film\"\nwhite = \"none\"", "printer = \"spare printer\"\nmedia = \"spare film\"\nwhite = \"all\" #!", `process "spare work": prints white, but printer "spare printer" has no toner.white`},
		{"", "white = \"none\"", "white_side = \"left\" #!", `process "spare work": white_side = "left": choose one of under, over`},
		{"", "white = \"none\"", "white_density_percent = 101 #!", `process "spare work": white_density_percent must be from 0 to 100`},
		{"", "white = \"none\"", "white_threshold_percent = 101 #!", `process "spare work": white_threshold_percent must be from 0 to 100`},
		{"", "white = \"none\"", "smallest_white = -1 #!", `process "spare work": smallest_white must not be negative`},
		{"", "white = \"none\"", "knockout_within = 51 #!", `process "spare work": knockout_within must be above 0 and at most 50`},
		{"", "white = \"none\"", "mirrored = \"yes\" #!", `process "spare work": mirrored must be true or false, not text`},
		{"", "white = \"none\"", "step = 5 #!\n[[item]]\nname = \"y\"\n[[process]]\nname=\"z\"\nprinter = \"bench printer\"\nmedia = \"light film\"", `process "spare work": step must be a list of tables, not a whole number`},
		// [[process.step]]
		{"", "[[process.step]]\ndo = \"peel\"", "[[process.step]] #!", `process.step "spare work": a step says nothing to do: write do = one of pre-press, marry, press, peel, part, strip, reseal, soak, slide, dry, cut`},
		{"", "do = \"peel\"", "do = \"pell\" #!", `process.step "spare work": do = "pell": choose one of pre-press, marry, press, peel, part, strip, reseal, soak, slide, dry, cut`},
		{"", "seconds = 3", "pressure = \"hard\" #!", `process.step "spare work": pressure = "hard": choose one of light, medium, firm`},
		{"", "seconds = 4", "peel = \"soon\" #!", `process.step "spare work": peel = "soon": choose one of hot, warm, cold`},
		{"", "seconds = 4", "temperature_c = 261 #!", `process.step "spare work": temperature_c must be from 0 to 260`},
		{"", "seconds = 4", "seconds = -1 #!", `process.step "spare work": seconds must be from 0 to 1.2096e+06`},
		{"", "seconds = 3", "seconds = -1 #!", `process.step "spare work": seconds must be from 0 to 1.2096e+06`},
		{"", "seconds = 4", "covered = true #!", `process.step "spare work": covered says that a cover sheet is used, and the process names none: write cover = its name`},
		{"", "seconds = 4", "note = 5 #!", `process.step "spare work": note must be text in quotes, not a whole number`},
		{"", "seconds = 4", "second = 4 #!", `process.step "spare work": no key is called "second" here; is seconds meant? The comments of laydown init list all keys.`},
		{"", "seconds = 4", "seconds = 4\n[process.step.deep] #!", `process.step "spare work": no key is called "deep" here; is peel meant? The comments of laydown init list all keys.`},
		// a length that is no such length
		{"", "margin = \"5 mm\"", "margin = \"201 mm\" #!", `layout: margin must be at most 200 mm`},
		{"", "cutter = \"0 mm\"", "cutter = \"1 m\" #!", `layout: cutter: length "1 m": write a number and mm, cm or in, such as 80mm or 3.5in`},
		{"", "yield_pages = 7", "yield_pages = 7\npage = \"210x10001mm\" #!", `printer.toner.black "spare printer": page: a side must be at most 10000 mm`},
		{"", "life_pages = 2", "life_pages = 2\npage = \"10001x2mm\" #!", `printer.wear "spare printer": page: a side must be at most 10000 mm`},
		{"", "sheet = \"A4\"\nprice_each = 3", "sheet = \"10001x10mm\" #!\nprice_each = 3", `media "spare film": sheet: a side must be at most 10000 mm`},
		{"", "price_each = 3", "smallest_text = \"21 mm\" #!", `media "spare film": smallest_text must be at most 20 mm`},
		{"", "price_each = 3", "heavy_width = \"51 cm\" #!", `media "spare film": heavy_width must be at most 500 mm`},
		{"", "colour = \"navy\"", "colour = \"navy\"\nprintable = \"10x10001mm\" #!", `item "spare tee": printable: a side must be at most 10000 mm`},
		{"", "white = \"none\"", "choke = \"5.1 mm\" #!", `process "spare work": choke must be from -5 mm to 5 mm`},
		{"", "white = \"none\"", "choke = \"-1 in\" #!", `process "spare work": choke must be from -5 mm to 5 mm`},
		{"", "white = \"none\"", "smallest_white = 6 #!", `process "spare work": smallest_white must be at most 5 mm`},
		// a 0 that is written is no default
		{"", "close = 2.0", "close = 0 #!", `match: close: grade limits 0, 3.5, 6 must be above 0 and rise from close to near to visible`},
		{"", "near = 3.5", "near = 0 #!", `match: near: grade limits 2, 0, 6 must be above 0 and rise from close to near to visible`},
		{"", "visible = 6.0", "visible = 0 #!", `match: visible: grade limits 2, 3.5, 0 must be above 0 and rise from close to near to visible`},
		{"", "quantities = [1, 12, 48]", "quantities = [] #!", `pricing: quantities is empty: write for example quantities = [1, 12, 48]`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\ntac_percent = 0 #!", `printer "spare printer": tac_percent must be above 0 and at most 400`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nblack = \"\" #!", `printer "spare printer": black generation "": choose one of none, light, medium, heavy, full`},
		{"", "name = \"spare printer\"", "name = \"spare printer\"\nwhite_contrast_percent = 0 #!", `printer "spare printer": white_contrast_percent must be above 0 and at most 100`},
		{"", "yield_pages = 7", "yield_pages = 7\ncoverage_percent = 0 #!", `printer.toner.black "spare printer": toner.black: coverage_percent must be above 0 and at most 100`},
		{"", "yield_pages = 7", "yield_pages = 7\ncorrection = \"0\" #!", `printer.toner.black "spare printer": toner.black: correction must be above 0`},
		{"", "price_each = 3", "sheets_per_transfer = 0 #!", `media "spare film": sheets_per_transfer must be 1, or 2 where two sheets make one transfer`},
		{"", "price_each = 3", "least_ppi = 0 #!", `media "spare film": least_ppi must be above 0 and not above good_ppi`},
		{"", "price_each = 3", "good_ppi = 0 #!", `media "spare film": least_ppi must be above 0 and not above good_ppi`},
		{"", "price_each = 3", "tac_percent = 0 #!", `media "spare film": tac_percent must be above 0 and at most 400`},
		{"", "white = \"none\"", "white = \"\" #!", `process "spare work": white rule "": choose one of none, under, knockout, tonal, all`},
		{"", "white = \"none\"", "knockout_within = 0 #!", `process "spare work": knockout_within must be above 0 and at most 50`},
		{"", "default_item = \"black tee\"", "default_item = \"\" #!", `default_item: no item is called "": the shop file has black tee, white tee, enamel mug, china mug, steel tumbler, steel plate, glass coaster, birch board, outside sticker, inside sticker, forearm, loose tattoo, transfer sheet, spare tee`},
		{"", "default_process = \"dark garment\"", "default_process = \"\" #!", `default_process: no process is called "": the shop file has dark garment, light garment, white film, decal on white, temporary tattoo, gold foil, flat hard goods, round hard goods, outside film, inside film, spare work`},
		// not TOML, in the second of something
		{"", "seconds = 4", "seconds = 4 s #!", `process.step "spare work": seconds: something stands behind the value: put text and lengths in quotes, write numbers with a decimal point, and begin a new line for the next key`},
		{"", "gap = \"4 mm\"", "gap \"4 mm\" #!", `layout: gap: there is no = behind the key: write key = value, and text in quotes`},
		{"", "gap = \"4 mm\"", "gap \"4 = mm\" #!", `layout: gap: there is no = behind the key: write key = value, and text in quotes`},
		{"", "gap = \"4 mm\"", "gap: \"4 mm\" #!", `layout: gap: there is no = behind the key: write key = value, and text in quotes`},
		{"", "gap = \"4 mm\"", "gap = \"4 mm #!", `layout: gap: the text is not closed: put a quote at its end`},
		{"", "gap = \"4 mm\"", "gap = '4 mm #!", `layout: gap: the text is not closed: put a quote at its end`},
		{"", "gap = \"4 mm\"", "gap = 4 mm #!", `layout: gap: something stands behind the value: put text and lengths in quotes, write numbers with a decimal point, and begin a new line for the next key`},
		{"", "gap = \"4 mm\"", "gap = small #!", `layout: gap: there is no value that can be read: write a number, true or false, or text in quotes`},
		{"", "gap = \"4 mm\"", "gap = #!", `layout: gap: there is no value that can be read: write a number, true or false, or text in quotes`},
		{"", "gap = \"4 mm\"", "gap = \"4\\mm\" #!", `layout: gap: the text has a \ in it that begins nothing known: write \\, or put the text in single quotes`},
		{"", "gap = \"4 mm\"", "gap = \"4 \xb5m\" #!", `layout: gap: there is a letter that is not in UTF-8: save the file as UTF-8`},
		{"", "gap = \"4 mm\"", "# 4 \xb5m #!\ngap = 4", `layout: there is a letter that is not in UTF-8: save the file as UTF-8`},
		{"", "gap = \"4 mm\"", "; gap = 4 #!\ngap = 4", `layout: there is no key: write key = value, a table such as [layout], or # before a comment`},
		{"", "quantities = [1, 12, 48]", "quantities = [1, 12; #!\n48]", `pricing: quantities: the list is not closed, or has no comma between two values: write for example [1, 12, 48]`},
		{"", "[costs]", "[costs #!", `the table's name is not closed: write for example [layout]`},
		{"", "[[printer]]", "[[printer] #!", `the table's name is not closed: write for example [[printer]]`},
		{"", "[costs]", "[costs] spoilage_percent = 3 #!", `something stands behind the table's name: begin a new line for it`},
		{"", "seconds = 4", "seconds = 4\nseconds = 5 #!", `process.step "spare work": key seconds is already defined: leave one of them out`},
		{"", "[printer.toner.black]", "[printer.toner.cyan] #!\n[printer.toner.black]", `printer.toner.cyan "spare printer": cyan is given above already, in another way: leave one of them out`},
	} {
		base := c.base
		if base == "" {
			base = string(demo) + second
		}
		bad := swapped(t, base, c.old, c.new)
		want := fmt.Sprintf("shop.toml:%d: %s", marked(t, bad), c.want)
		for _, text := range []string{bad, strings.ReplaceAll(bad, "\n", "\r\n"), "\ufeff" + bad, "\t" + strings.ReplaceAll(bad, "\n", "\n\t")} {
			if _, err := Load([]byte(text), "shop.toml"); err == nil || err.Error() != want {
				t.Errorf("%q for %q in a text that starts %.20q:\n%v, want\n%s", c.new, c.old, text, err, want)
				break
			}
		}
	}
}

// TestNothing has files that lack whole tables: the top's line is the first.
func TestNothing(t *testing.T) {
	want := `shop.toml:1: currency is missing: write for example currency = "EUR"
shop.toml:1: there is no [[printer]]: at least one is needed
shop.toml:1: there is no [[media]]: at least one is needed
shop.toml:1: there is no [[item]]: at least one is needed
shop.toml:1: there is no [[process]]: at least one is needed`
	for _, text := range []string{"", "\n\n", "# nothing", "\ufeff"} {
		if _, err := Load([]byte(text), "shop.toml"); err == nil || err.Error() != want {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}

// TestZeroIsZero writes 0 for every key that has a default and may be 0.
func TestZeroIsZero(t *testing.T) {
	text := strings.NewReplacer("margin_percent = \"45\"", "margin_percent = \"0\"", "counts_as = 5.0", "counts_as = 0").Replace(string(demo)) + second
	text = swapped(t, text, "price_each = 3", `price_each = 0
smallest_line = 0
fade_width = "0 mm"
soft_edge = 0
smallest_tone_percent = 0
smallest_gap = 0
smallest_dot = 0
smallest_text = 0
heavy_percent = 0
heavy_width = 0
band_delta_e = 0`)
	text = swapped(t, text, "white = \"none\"", "white = \"none\"\nwhite_density_percent = 0")
	text = swapped(t, text, "[printer.toner.black]\nprice = 1", "[printer.toner.black]\nprice = 0")
	s, err := Load([]byte(text), "shop.toml")
	if err != nil {
		t.Fatal(err)
	}
	if s.Match.CountsAs != 0 || !s.Pricing.MarginPercent.IsZero() {
		t.Errorf("%+v, %+v", s.Match, s.Pricing)
	}
	if got, want := s.Media[len(s.Media)-1], (Medium{Name: "spare film", Sheet: s.Media[0].Sheet, PerTransfer: 1, WeedsItself: true, GoodPPI: 300, LeastPPI: 150}); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%+v, want %+v", got, want)
	}
	if p := s.Processes[len(s.Processes)-1]; p.WhiteDensity != 0 || p.KnockoutWithin != 5 {
		t.Errorf("%+v", p)
	}
	if s, err = Load([]byte(strings.Replace(string(demo), "margin_percent = \"45\"", "", 1)), "shop.toml"); err != nil || !s.Pricing.MarginPercent.IsZero() {
		t.Errorf("no margin: %v, %v; no margin may be made up", err, s.Pricing.MarginPercent)
	}
	for _, other := range []string{"markup_percent = \"0\"", "markup_percent = \"80\"", "rate = [{from = 1, each = 2}]"} {
		s, err := Load([]byte(strings.Replace(string(demo), "margin_percent = \"45\"", other, 1)), "shop.toml")
		if err != nil || !s.Pricing.MarginPercent.IsZero() {
			t.Errorf("%s: %v", other, err)
		}
	}
}

// TestFormerNames reads the keys that are called otherwise today.
func TestFormerNames(t *testing.T) {
	text := strings.NewReplacer("heat_press_seconds = \"20\"", "press_seconds = \"21\"", "heat_press_hour = \"0.90\"", "press_hour = \"0.91\"").Replace(string(demo))
	s, err := Load([]byte(text), "shop.toml")
	if err != nil {
		t.Fatal(err)
	}
	if a, b := s.Labour.HeatPressSeconds.String(), s.Costs.HeatPressHour.String(); a != "21" || b != "0.91" {
		t.Errorf("%s seconds, %s an hour", a, b)
	}
}

// TestSpellings writes the same shop in other ways that TOML has.
func TestSpellings(t *testing.T) {
	want, err := Load([]byte(`currency = "EUR"
[layout]
margin = "5 mm"
[pricing]
quantities = [1, 12]
[[pricing.rate]]
from = 1
each = "9.5"
[[printer]]
name = "p"
tac_percent = 300
[printer.toner.cyan]
price = 1000
yield_pages = 16
[printer.toner.magenta]
price = 1
yield_pages = 1
[printer.toner.yellow]
price = 1
yield_pages = 1
[printer.toner.black]
price = 1
yield_pages = 1
[[media]]
name = "m"
sheet = "A4"
[[item]]
name = "i"
colour = "navy"
[[process]]
name = "w"
printer = "p"
media = "m"
foil = true
[[process.step]]
do = "cut"
`), "a")
	if err != nil {
		t.Fatal(err)
	}
	got, err := Load([]byte(`Currency = 'EUR'
layout = {margin = 5}
pricing.quantities = [
	1,
	12, # and no more
]
pricing.rate = [{from = 0b1, each = 9.5}]
media = [{name = "m", sheet = "a4"}]
item = [{name = "i", "colour" = "NAVY"}]
process = [{name = "w", printer = "p", media = "m", foil = true, step = [{do = "cut"}]}]
[printer]
name = "p"
tac_percent = 3_0_0
toner.cyan = {price = 1_000, yield_pages = 0x10}
toner . magenta = {price = "1", yield_pages = 1}
[printer.toner."yellow"]
price = 1
yield_pages = 1
[printer.toner.black]
price = 1
yield_pages = 1
`), "b")
	if err != nil {
		t.Fatal(err)
	}
	if got.Items[0].Colour.Text != "NAVY" {
		t.Errorf("colour %q", got.Items[0].Colour.Text)
	}
	got.Items[0].Colour.Text, got.File, got.root = "navy", want.File, want.root
	if a, b := fmt.Sprintf("%+v", want), fmt.Sprintf("%+v", got); a != b {
		t.Errorf("\n%s\n%s", a, b)
	}
}

// very bad: mistakes of figures all over.
var veryBad = strings.NewReplacer("margin = \"5 mm\"", "margin = \"-5 mm\"", "gap = \"4 mm\"", "gap = \"-4 mm\"", "rate_hour = \"24.00\"", "rate_hour = -1",
	"weed_seconds = \"25\"", "weed_seconds = -1", "heat_press_hour = \"0.90\"", "heat_press_hour = -1", "tax_percent = \"19\"", "tax_percent = -19", "minimum_order = \"18.00\"", "minimum_order = -18",
	"smallest_line = \"0.4 mm\"", "smallest_line = -1", "smallest_gap = \"0.7 mm\"", "smallest_gap = -1", "smallest_dot = \"0.3 mm\"", "smallest_dot = -1", "smallest_text = \"1.2 mm\"", "smallest_text = -1",
	"fade_width = \"0.25 mm\"", "fade_width = -1", "soft_edge = \"0.15 mm\"", "soft_edge = -1", "heavy_width = \"40 mm\"", "heavy_width = -1", "pack_price = \"95.00\"", "pack_price = -95",
	"price_each = \"0.85\"", "price_each = -1", "yield_pages = 6000", "yield_pages = 0", "price = \"74.00\"", "price = -74", "life_pages = ", "life_pages = -", "price = \"420.00\"", "price = -420",
	"[printer.toner.white]", "[printer.toner.gold]\n[printer.toner.silver]\n[printer.toner.pearl]", "seconds = 55", "seconds = -55", "temperature_c = 150", "temperature_c = 1500", "name = \"white tee\"", "name = \"black tee\"",
	"peel = ", "peel = \"soon\" # ").Replace(string(demo))

// TestSameMistakes loads bad files many times: the messages must be the same bytes, in
// the file's order.
func TestSameMistakes(t *testing.T) {
	wrongKinds := strings.NewReplacer(" = \"", " = [] # ").Replace(string(demo))
	for name, text := range map[string]string{"figures": veryBad, "kinds": wrongKinds, "twice": strings.ReplaceAll(string(demo), "price = ", "price = 1\nprice = ")} {
		_, first := Load([]byte(text), "shop.toml")
		if first == nil || strings.Count(first.Error(), "\n") < 10 {
			t.Fatalf("%s: %v, want many mistakes", name, first)
		}
		before := 0
		for l := range strings.Lines(first.Error()) {
			line := 0
			if _, err := fmt.Sscanf(l, "shop.toml:%d: ", &line); err != nil || line < before {
				t.Errorf("%s: %q after line %d", name, l, before)
			}
			before = line
		}
		for range 100 {
			if _, err := Load([]byte(text), "shop.toml"); err.Error() != first.Error() {
				t.Fatalf("%s: first\n%v\nthen\n%v", name, first, err)
			}
		}
	}
}

// place is where a key can stand in a file: the headers before it, and its table.
type place struct {
	headers []string // for the table
	table   string
	name    string // of the entry
}

// keys calls f for every key of a struct and of the tables in it.
func keys(t reflect.Type, at place, f func(at place, key string, of reflect.Type)) {
	for i := range t.NumField() {
		tag := t.Field(i).Tag.Get("toml")
		if tag == "" {
			continue
		}
		of := t.Field(i).Type
		f(at, tag, of)
		if once := t.Field(i).Tag.Get("once"); once != "" {
			f(at, once, of)
		}
		table := strings.TrimPrefix(at.table+"."+tag, ".")
		below := place{append(at.headers[:len(at.headers):len(at.headers)], "["+table+"]"), table, at.name}
		switch {
		case of.Kind() == reflect.Slice && of.Elem().Kind() == reflect.Struct:
			header := "[[" + table + "]]" // the second entry of two
			below.headers = append(at.headers[:len(at.headers):len(at.headers)], header, "# another", header)
			if _, ok := of.Elem().FieldByName("Name"); ok {
				below.name = "a " + tag
				below.headers = append(below.headers, fmt.Sprintf("name = %q", below.name))
			}
			keys(of.Elem(), below, f)
		case of.Kind() == reflect.Map:
			below.table += ".black"
			below.headers[len(below.headers)-1] = "[" + below.table + "]"
			f(at, tag, of)
			keys(of.Elem(), below, f)
		case of.Kind() == reflect.Struct && !reflect.PointerTo(of).Implements(reflect.TypeFor[interface{ UnmarshalText([]byte) error }]()):
			keys(of, below, f)
		}
	}
}

// TestEveryKey gives every key there is a value that no key can have. A new key is in
// it without a line of this test.
func TestEveryKey(t *testing.T) {
	n := 0
	keys(reflect.TypeFor[Shop](), place{}, func(at place, key string, of reflect.Type) {
		n++
		headers := at.headers
		if key == "name" && at.table != "" { // the entry has none then
			headers, at.name = headers[:len(headers)-1], ""
			switch at.table {
			case "printer.wear":
				at.name = "a printer"
			case "item.size":
				at.name = "a item"
			}
		}
		text := "# a shop\n" + strings.Join(headers, "\n") + "\n\n" + key + " = 1979-05-27 #!\n"
		want := fmt.Sprintf("shop.toml:%d: ", marked(t, text))
		if at.table != "" {
			want += at.table
			if at.name != "" {
				want += fmt.Sprintf(" %q", at.name)
			}
			want += ": "
		}
		want += key + " must be " + form.Wanted(of) + ", not a date or a time"
		if _, err := Load([]byte(text), "shop.toml"); err == nil || err.Error() != want {
			t.Errorf("%s\n%v, want\n%s", text, err, want)
		}
	})
	if n < 90 {
		t.Errorf("only %d keys were found", n)
	}
}

// TestEveryKeyTakesAnything gives every key one value of each kind, so that a field of a
// type that the binder does not know is found here and not by somebody's file.
func TestEveryKeyTakesAnything(t *testing.T) {
	for _, v := range []string{"1", "1.5", "true", "\"x\"", "[]", "{}", "[{}]", "[1]"} {
		keys(reflect.TypeFor[Shop](), place{}, func(at place, key string, _ reflect.Type) {
			headers := at.headers
			if key == "name" && at.table != "" {
				headers = headers[:len(headers)-1]
			}
			text := strings.Join(headers, "\n") + "\n" + key + " = " + v
			if _, err := Load([]byte(text), "shop.toml"); err == nil {
				t.Errorf("%s is no shop", text)
			}
		})
	}
}
