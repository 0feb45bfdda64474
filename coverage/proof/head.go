package proof

import (
	"slices"

	"laydown/coverage/artwork"
	"laydown/coverage/flaw"
	"laydown/coverage/order"
	"laydown/coverage/shop"
)

// Head is what every answer must say before its figures: what was taken where the order
// says nothing, what stops the print, and whose prices these are.
type Head struct {
	Assumed []order.Assumption `json:"assumed,omitempty"`
	// Stops are the findings that stop the print: all of them where it was looked for
	// findings, else those that the order alone tells, wrong-item and too-large.
	Stops []Stop `json:"stops"`
	// ShopFile is where the shop's figures are from; DemoShop says that they are the demo's,
	// all of which are invented.
	ShopFile  string `json:"shop_file"`
	ShopFound string `json:"shop_found,omitempty"` // in words, where nobody named it
	DemoShop  bool   `json:"demo_shop,omitempty"`
	// Of a shop file that began as the demo and is no longer all of it: how many of its
	// figures are still the demo's, and how many the shop's own.
	DemoFigures int `json:"demo_figures,omitempty"`
	OwnFigures  int `json:"own_figures,omitempty"`
}

// Stop is a finding that stops the print, without its places.
type Stop struct {
	Kind     flaw.Kind `json:"kind"`
	Measured float64   `json:"measured"`
	Limit    float64   `json:"limit"`
	Unit     string    `json:"unit"`
	Advice   string    `json:"advice"`
}

// HeadOf is the head of an answer that is about a shop and no print.
func HeadOf(s *shop.Shop) *Head {
	h := &Head{Stops: []Stop{}}
	h.Of(s)
	return h
}

// Of says whose figures the head's are.
func (h *Head) Of(s *shop.Shop) {
	h.ShopFile, h.ShopFound, h.DemoShop, h.DemoFigures, h.OwnFigures = s.File, s.Found, s.Demo, 0, 0
	if !s.Demo {
		h.DemoFigures, h.OwnFigures = s.DemoFigures, s.OwnFigures
	}
}

// headOf is the head of an answer about a job, with findings that were looked for.
func headOf(j *order.Job, found []flaw.Finding) *Head {
	h := HeadOf(j.Shop)
	h.Assumed, h.Stops = j.Assumed, stopsOf(found)
	return h
}

// headAbout is headOf for an answer about an art of which a page or frame may have been chosen.
func headAbout(j *order.Job, art artwork.Info, found []flaw.Finding) *Head {
	h := headOf(j, found)
	h.Assumed = append(slices.Clone(h.Assumed), order.Chosen(art.Chosen)...)
	return h
}

// stopsOf are the findings that stop the print.
func stopsOf(found []flaw.Finding) []Stop {
	stops := []Stop{}
	for _, f := range found {
		if f.Severity == flaw.Stop {
			stops = append(stops, StopOf(f))
		}
	}
	return stops
}

// StopOf is a finding without its places.
func StopOf(f flaw.Finding) Stop { return Stop{f.Kind, f.Measured, f.Limit, f.Unit, f.Advice} }

// ChecksFirst are the findings to decide on before printing.
func (p *Proof) ChecksFirst() (out []Stop) {
	for _, f := range p.Findings {
		if f.Severity == flaw.Look {
			out = append(out, StopOf(f))
		}
	}
	return out
}
