package shop

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/shopspring/decimal"

	"laydown/colour/press"
	"laydown/coverage/plate"
	"laydown/coverage/word"
)

// fault is one mistake: in which table, of which name, at which key.
type fault struct {
	table string // as in the file, "" for the top
	name  string // of the entry, if tables of this kind have names
	key   string // "" for the table itself
	what  string
}

// at writes the fault with its file and the line of its key, or of its table if the
// key is not written out.
func (f fault) at(data []byte, file string) string {
	where := file
	if line := f.line(data); line > 0 {
		where += fmt.Sprintf(":%d", line)
	}
	if f.table != "" {
		where += ": " + f.table
		if f.name != "" {
			where += fmt.Sprintf(" %q", f.name)
		}
	}
	if f.key != "" && !strings.Contains(f.what, f.key) {
		where += ": " + f.key
	}
	return where + ": " + f.what
}

var (
	tableLine = regexp.MustCompile(`^\s*\[\[?\s*([A-Za-z0-9_.\- ]+?)\s*\]\]?\s*(#.*)?$`)
	nameLine  = regexp.MustCompile(`^\s*name\s*=\s*["'](.*)["']\s*(#.*)?$`)
	keyLine   = regexp.MustCompile(`^\s*([A-Za-z0-9_\-]+)\s*=`)
)

// line looks for the fault among the lines of the file; 0 says that it is not there.
// It reads TOML the way people write it: tables by headers, one key a line.
func (f fault) line(data []byte) int {
	table, name, inSub := "", "", false
	header, headerName := 0, ""
	named := 0 // the line of the table, once its name has been seen
	for i, raw := range bytes.Split(data, []byte("\n")) {
		text := strings.TrimRight(string(raw), "\r")
		if m := tableLine.FindStringSubmatch(text); m != nil {
			root, sub, nested := strings.Cut(m[1], ".")
			if nested && root == table {
				inSub = root+"."+sub == f.table
				if inSub && f.key == "" && (f.name == "" || f.name == headerName) {
					return i + 1
				}
				name = headerName
				continue
			}
			table, name, inSub = m[1], "", false
			header, headerName = i+1, ""
			if table == f.table && f.name == "" {
				named = header
				if f.key == "" {
					return header
				}
			}
			continue
		}
		if m := nameLine.FindStringSubmatch(text); m != nil && !inSub {
			name, headerName = m[1], m[1]
			if table == f.table && name == f.name && named == 0 {
				named = header
			}
		}
		if m := keyLine.FindStringSubmatch(text); m != nil && f.key != "" && m[1] == lastPart(f.key) {
			if (table == f.table || inSub) && (f.name == "" || name == f.name || headerName == f.name) {
				return i + 1
			}
		}
	}
	return named
}

func lastPart(key string) string { return key[strings.LastIndexByte(key, '.')+1:] }

// decodeError says the line and the key where a library would draw a picture.
func decodeError(err error, name string) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		var lines []string
		for _, e := range strict.Errors {
			row, _ := e.Position()
			line := fmt.Sprintf("%s:%d: no key is called %q here", name, row, strings.Join(e.Key(), "."))
			if near := nearest(e.Key()); near != "" {
				line += fmt.Sprintf("; is %s meant?", near)
			}
			lines = append(lines, line+" The comments of laydown init list all keys.")
		}
		return errors.New(strings.Join(lines, "\n"))
	}
	var one *toml.DecodeError
	if errors.As(err, &one) {
		row, _ := one.Position()
		where := fmt.Sprintf("%s:%d", name, row)
		if k := one.Key(); len(k) > 0 {
			where += ": " + strings.Join(k, ".")
		}
		return fmt.Errorf("%s: %s", where, strings.TrimPrefix(one.Error(), "toml: "))
	}
	return fmt.Errorf("%s: %w", name, err)
}

// nearest is the key of the same table that an unknown one is most like, or "".
func nearest(path []string) string {
	t := reflect.TypeFor[Shop]()
	for i, part := range path {
		for t.Kind() == reflect.Slice || t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		if t.Kind() == reflect.Map {
			t = t.Elem()
			continue
		}
		if t.Kind() != reflect.Struct {
			return ""
		}
		next, tags := reflect.Type(nil), []string(nil)
		for f := range t.NumField() {
			tag := t.Field(f).Tag.Get("toml")
			if tag == "" {
				continue
			}
			tags = append(tags, tag)
			if tag == part {
				next = t.Field(f).Type
			}
		}
		if next == nil {
			if i == len(path)-1 {
				return word.Nearest(part, tags)
			}
			return ""
		}
		t = next
	}
	return ""
}

// mostDigits bounds the digits of an amount on either side of its point: reckoning with
// 1e999999999 would take all the memory there is.
const mostDigits = 15

// tooLong returns the amounts that nobody means.
func (s *Shop) tooLong() (faults []fault) {
	var walk func(v reflect.Value, table, name, key string)
	walk = func(v reflect.Value, table, name, key string) {
		if d, ok := v.Interface().(decimal.Decimal); ok {
			if e := int(d.Exponent()); e < -mostDigits || e > mostDigits || d.NumDigits()+e > mostDigits {
				faults = append(faults, fault{table, name, key, fmt.Sprintf("%s has more than %d digits on one side of its point", key, mostDigits)})
			}
			return
		}
		switch v.Kind() {
		case reflect.Struct:
			if n := v.FieldByName("Name"); n.IsValid() && n.Kind() == reflect.String && name == "" && table != "" { // not the shop's own
				name = n.String()
			}
			for i := range v.NumField() {
				tag := v.Type().Field(i).Tag.Get("toml")
				if tag == "" {
					continue
				}
				f := v.Field(i)
				switch f.Kind() {
				case reflect.Slice, reflect.Map, reflect.Struct:
					if _, ok := f.Interface().(decimal.Decimal); !ok {
						walk(f, strings.TrimPrefix(table+"."+tag, "."), name, tag)
						continue
					}
				}
				walk(f, table, name, tag)
			}
		case reflect.Slice:
			for i := range v.Len() {
				walk(v.Index(i), table, name, key)
			}
		case reflect.Map:
			for _, k := range v.MapKeys() {
				walk(v.MapIndex(k), table+"."+k.String(), name, key)
			}
		}
	}
	walk(reflect.ValueOf(*s), "", "", "")
	slices.SortFunc(faults, func(a, b fault) int { return strings.Compare(a.table+a.name+a.key, b.table+b.name+b.key) })
	return faults
}

// check returns every fault that loading alone does not find.
func (s *Shop) check() (faults []fault) {
	if faults = s.tooLong(); len(faults) > 0 {
		return faults // before anything is reckoned with them
	}
	say := func(table, name, key, format string, v ...any) {
		faults = append(faults, fault{table, name, key, fmt.Sprintf(format, v...)})
	}
	money := func(table, name string, of map[string]decimal.Decimal) {
		keys := make([]string, 0, len(of))
		for k := range of {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		for _, k := range keys {
			if of[k].IsNegative() {
				say(table, name, k, "%s must not be negative", k)
			}
		}
	}
	within := func(table, name, key string, v, lo, hi float64) {
		if !(v >= lo && v <= hi) {
			say(table, name, key, "%s must be from %g to %g", key, lo, hi)
		}
	}
	oneOf := func(table, name, key, v string, list []string) {
		if v != "" && !slices.Contains(list, v) {
			say(table, name, key, "%s = %q: choose one of %s", key, v, strings.Join(list, ", "))
		}
	}
	if s.Currency == "" {
		say("", "", "currency", "currency is missing: write for example currency = \"EUR\"")
	}
	if err := s.Match.Limits().Check(); err != nil {
		say("match", "", "", "%v", err)
	}
	if s.Layout.Margin < 0 || s.Layout.Gap < 0 || s.Layout.Bleed < 0 || s.Layout.Cutter < 0 {
		say("layout", "", "", "margin, gap, bleed and cutter must not be negative")
	}
	names := func(kind, plural string, needed bool, list []string) {
		seen := map[string]bool{}
		for _, n := range list {
			if n == "" {
				say(kind, "", "", "a %s has no name", kind)
			} else if seen[n] {
				say(kind, n, "", "two %s are called %q", plural, n)
			}
			seen[n] = true
		}
		if len(list) == 0 && needed {
			say("", "", "", "there is no [[%s]]: at least one is needed", kind)
		}
	}
	names("printer", "printers", true, s.PrinterNames())
	names("media", "medias", true, s.MediaNames())
	names("item", "items", true, s.ItemNames())
	names("process", "processes", true, s.ProcessNames())
	names("cover", "covers", false, list(s.Covers, func(c Cover) string { return c.Name }))
	for _, p := range s.Printers {
		if p.TAC <= 0 || p.TAC > 400 {
			say("printer", p.Name, "tac_percent", "tac_percent must be above 0 and at most 400")
		}
		if _, err := press.ParseBlack(p.Black); err != nil {
			say("printer", p.Name, "black", "%v", err)
		}
		if p.WhiteContrast <= 0 || p.WhiteContrast > 100 {
			say("printer", p.Name, "white_contrast_percent", "white_contrast_percent must be above 0 and at most 100")
		}
		money("printer", p.Name, map[string]decimal.Decimal{"machine_hour": p.MachineHour})
		keys := make([]string, 0, len(p.Toner))
		for k := range p.Toner {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		for _, k := range keys {
			if !slices.Contains(plate.Names[:], k) {
				say("printer.toner."+k, p.Name, "", "no toner is called %q: they are %s", k, strings.Join(plate.Names[:], ", "))
			}
		}
		for k, n := range plate.Names {
			t, ok := p.Toner[n]
			if !ok {
				if k != plate.White {
					say("printer", p.Name, "", "has no toner.%s", n)
				}
				continue
			}
			if err := t.Cartridge().Check(); err != nil {
				key, _, _ := strings.Cut(err.Error(), " ")
				say("printer.toner."+n, p.Name, key, "toner.%s: %v", n, err)
			}
		}
		for _, w := range p.Wear {
			money("printer.wear", w.Name, map[string]decimal.Decimal{"price": w.Price})
			if w.LifePages <= 0 {
				say("printer.wear", w.Name, "life_pages", "life_pages must be above 0")
			}
		}
	}
	for _, m := range s.Media {
		if !(m.Sheet.AreaMM2() > 0) {
			say("media", m.Name, "sheet", "sheet is missing: write for example sheet = \"A4\"")
		}
		money("media", m.Name, map[string]decimal.Decimal{"price_each": m.PriceEach, "pack_price": m.PackPrice, "pages_per_minute": m.PagesPerMinute})
		if m.PackSheets < 0 || (m.PackPrice.IsPositive() && m.PackSheets == 0) {
			say("media", m.Name, "pack_sheets", "pack_sheets must be the number of sheets in the pack")
		}
		if m.PackSheets > 0 && m.PriceEach.IsPositive() {
			say("media", m.Name, "price_each", "give either price_each or pack_price and pack_sheets")
		}
		if m.PerTransfer != 1 && m.PerTransfer != 2 {
			say("media", m.Name, "sheets_per_transfer", "sheets_per_transfer must be 1, or 2 where two sheets make one transfer")
		}
		within("media", m.Name, "tac_percent", m.TAC, 0, 400)
		within("media", m.Name, "smallest_tone_percent", m.SmallestTonePerc, 0, 100)
		within("media", m.Name, "heavy_percent", m.HeavyPercent, 0, 500)
		within("media", m.Name, "band_delta_e", m.BandDeltaE, 0, 100)
		for key, v := range map[string]float64{"smallest_line": m.SmallestLine.MM(), "smallest_gap": m.SmallestGap.MM(), "smallest_dot": m.SmallestDot.MM(),
			"smallest_text": m.SmallestText.MM(), "fade_width": m.FadeWidth.MM(), "soft_edge": m.SoftEdge.MM(), "heavy_width": m.HeavyWidth.MM()} {
			if v < 0 {
				say("media", m.Name, key, "%s must not be negative", key)
			}
		}
		if !(0 < m.LeastPPI && m.LeastPPI <= m.GoodPPI) {
			say("media", m.Name, "least_ppi", "least_ppi must be above 0 and not above good_ppi")
		}
	}
	for _, v := range s.Items {
		money("item", v.Name, map[string]decimal.Decimal{"price": v.Price})
	}
	for _, c := range s.Covers {
		money("cover", c.Name, map[string]decimal.Decimal{"price": c.Price})
		if c.Uses <= 0 {
			say("cover", c.Name, "uses", "uses must be above 0")
		}
	}
	for _, p := range s.Processes {
		s.checkProcess(p, say, within, oneOf)
	}
	money("labour", "", map[string]decimal.Decimal{"rate_hour": s.Labour.RateHour, "file_check_minutes": s.Labour.FileCheckMinutes, "setup_minutes": s.Labour.SetupMinutes,
		"print_seconds": s.Labour.PrintSeconds, "weed_seconds": s.Labour.WeedSeconds, "heat_press_seconds": s.Labour.HeatPressSeconds, "pack_seconds": s.Labour.PackSeconds})
	money("costs", "", map[string]decimal.Decimal{"overhead_percent": s.Costs.OverheadPercent, "spoilage_percent": s.Costs.SpoilagePercent, "heat_press_hour": s.Costs.HeatPressHour})
	if s.Costs.SpoilagePercent.GreaterThanOrEqual(hundred) {
		say("costs", "", "spoilage_percent", "spoilage_percent must be below 100")
	}
	s.checkPricing(say, money)
	if _, err := s.Process(s.DefaultProcess); err != nil && len(s.Processes) > 0 {
		say("", "", "default_process", "%v", err)
	}
	if _, err := s.Item(s.DefaultItem); err != nil && len(s.Items) > 0 {
		say("", "", "default_item", "%v", err)
	}
	return faults
}

var hundred = decimal.NewFromInt(100)

func (s *Shop) checkProcess(p Process, say func(table, name, key, format string, v ...any), within func(table, name, key string, v, lo, hi float64),
	oneOf func(table, name, key, v string, list []string)) {
	if _, err := plate.ParseRule(string(p.White)); err != nil {
		say("process", p.Name, "white", "%v", err)
	}
	within("process", p.Name, "white_density_percent", p.WhiteDensity, 0, 100)
	within("process", p.Name, "white_threshold_percent", p.WhiteThreshold, 0, 100)
	if p.SmallestWhite < 0 {
		say("process", p.Name, "smallest_white", "smallest_white must not be negative")
	}
	if !(p.KnockoutWithin > 0 && p.KnockoutWithin <= 50) {
		say("process", p.Name, "knockout_within", "knockout_within must be above 0 and at most 50")
	}
	if pr, err := s.Printer(p.Printer); err != nil {
		say("process", p.Name, "printer", "%v", err)
	} else if _, ok := pr.Toner[plate.Names[plate.White]]; !ok && p.White != plate.NoWhite {
		say("process", p.Name, "white", "prints white, but printer %q has no toner.white", pr.Name)
	}
	if _, err := s.Medium(p.Media); err != nil {
		say("process", p.Name, "media", "%v", err)
	}
	if p.Cover != "" {
		if _, err := s.Cover(p.Cover); err != nil {
			say("process", p.Name, "cover", "%v", err)
		}
	}
	for _, st := range p.Steps {
		if st.Do == "" {
			say("process.step", p.Name, "", "a step says nothing to do: write do = one of %s", strings.Join(Deeds, ", "))
		}
		oneOf("process.step", p.Name, "do", st.Do, Deeds)
		oneOf("process.step", p.Name, "pressure", st.Pressure, Pressures)
		oneOf("process.step", p.Name, "peel", st.Peel, Peels)
		within("process.step", p.Name, "temperature_c", st.TemperatureC, 0, 260)
		within("process.step", p.Name, "seconds", st.Seconds, 0, 14*24*3600)
		if st.Covered && p.Cover == "" {
			say("process.step", p.Name, "covered", "covered says that a cover sheet is used, and the process names none: write cover = its name")
		}
	}
}

func (s *Shop) checkPricing(say func(table, name, key, format string, v ...any), money func(table, name string, of map[string]decimal.Decimal)) {
	p := s.Pricing
	money("pricing", "", map[string]decimal.Decimal{"margin_percent": p.MarginPercent, "markup_percent": p.MarkupPercent, "minimum_order": p.MinimumOrder, "tax_percent": p.TaxPercent})
	ways := 0
	for _, set := range []bool{p.MarginPercent.IsPositive(), p.MarkupPercent.IsPositive(), len(p.Rates) > 0} {
		if set {
			ways++
		}
	}
	if ways > 1 {
		say("pricing", "", "", "give one of margin_percent, markup_percent and [[pricing.rate]], not %d of them", ways)
	}
	if p.MarginPercent.GreaterThanOrEqual(hundred) {
		say("pricing", "", "margin_percent", "margin_percent must be below 100: it is a part of the price")
	}
	if _, err := p.Price(); err != nil {
		key := "round_to"
		if strings.HasPrefix(err.Error(), "rounding") {
			key = "rounding"
		}
		say("pricing", "", key, "%v", err)
	}
	for i, r := range p.Rates {
		if (i == 0 && r.From != 1) || (i > 0 && r.From <= p.Rates[i-1].From) || r.Each.IsNegative() {
			say("pricing.rate", "", "from", "rates must rise from = 1 on, and each must not be negative")
		}
	}
	for i, q := range p.Quantities {
		if q <= 0 || (i > 0 && q <= p.Quantities[i-1]) {
			say("pricing", "", "quantities", "quantities must be above 0 and rise")
		}
	}
}
