package resvg

import (
	"context"
	"errors"
	"fmt"
	"unicode/utf8"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

// The module was made by wasm-bindgen, whose calling convention for values that do not
// live in linear memory is this: the host keeps them in a table and hands out indices.
// Of all that the host must be able to do, the module asks for strings, byte arrays,
// lists and walks through lists.

// host is the host's side of one instance.
type host struct {
	values map[uint32]any // string, []byte, *list, *walk, error
	last   uint32
	module api.Module
}

// hostKey is the key of the host in the context of every call.
type hostKey struct{}

func hostOf(ctx context.Context) *host { return ctx.Value(hostKey{}).(*host) }

// list is a list that the module may add to.
type list struct{ items []any }

// walk is a walk through a list, or one step of it.
type walk struct {
	items []any
	at    int
}

type step struct {
	value any
	done  bool
}

func (h *host) keep(v any) uint32 {
	h.last++
	h.values[h.last] = v
	return h.last
}

// take returns a value and lets it go.
func (h *host) take(index uint32) any {
	v := h.values[index]
	delete(h.values, index)
	return v
}

// thrown is an error that unwinds the module's stack.
type thrown struct{ text string }

func (t thrown) Error() string { return t.text }

// text reads a string of the module's memory.
func (h *host) text(at, length uint32) string {
	b, ok := h.module.Memory().Read(at, length)
	if !ok || !utf8.Valid(b) {
		panic(thrown{"a text that is none"})
	}
	return string(b)
}

// bytes are those that a value stands for; memory itself stands for all of it.
func (h *host) bytes(index uint32) []byte {
	b, _ := h.values[index].([]byte)
	return b
}

// give copies bytes into memory that the module then owns.
func (h *host) give(ctx context.Context, b []byte) (at uint32) {
	r, err := h.module.ExportedFunction("__wbindgen_malloc").Call(ctx, uint64(len(b)), 1)
	if err != nil || !h.module.Memory().Write(uint32(r[0]), b) {
		panic(thrown{"there is no memory for it"})
	}
	return uint32(r[0])
}

// functions are what the module imports. Which instance calls is in the context.
func functions() map[string]any {
	return map[string]any{
		"__wbg_new_28c511d9baebfa89": func(ctx context.Context, at, length uint32) uint32 {
			h := hostOf(ctx)
			return h.keep(errors.New(h.text(at, length)))
		},
		"__wbindgen_memory": func(ctx context.Context) uint32 {
			h := hostOf(ctx)
			return h.keep(memory{})
		},
		"__wbg_buffer_12d079cc21e14bdb": func(ctx context.Context, _ uint32) uint32 {
			h := hostOf(ctx)
			return h.keep(memory{})
		},
		"__wbg_newwithbyteoffsetandlength_aa4a17c33a06e5cb": func(ctx context.Context, _, at, length uint32) uint32 {
			h := hostOf(ctx)
			return h.keep(view{at, length})
		},
		"__wbindgen_object_drop_ref": func(ctx context.Context, index uint32) {
			h := hostOf(ctx)
			h.take(index)
		},
		"__wbg_new_63b92bc8671ed464": func(ctx context.Context, index uint32) uint32 {
			h := hostOf(ctx)
			return h.keep(h.copyOf(index))
		},
		"__wbg_values_839f3396d5aac002": func(ctx context.Context, index uint32) uint32 {
			h := hostOf(ctx)
			l, ok := h.values[index].(*list)
			if !ok {
				l = &list{}
			}
			return h.keep(&walk{items: l.items})
		},
		"__wbg_next_196c84450b364254": func(ctx context.Context, index uint32) uint32 {
			h := hostOf(ctx)
			w, ok := h.values[index].(*walk)
			if !ok || w.at == len(w.items) {
				return h.keep(step{done: true})
			}
			w.at++
			return h.keep(step{value: w.items[w.at-1]})
		},
		"__wbg_done_298b57d23c0fc80c": func(ctx context.Context, index uint32) uint32 {
			h := hostOf(ctx)
			s, _ := h.values[index].(step)
			return truth(s.done)
		},
		"__wbg_value_d93c65011f51a456": func(ctx context.Context, index uint32) uint32 {
			h := hostOf(ctx)
			s, _ := h.values[index].(step)
			return h.keep(s.value)
		},
		"__wbg_instanceof_Uint8Array_2b3bbecd033d19f6": func(ctx context.Context, index uint32) uint32 {
			h := hostOf(ctx)
			switch h.values[index].(type) {
			case []byte, view:
				return 1
			}
			return 0
		},
		"__wbindgen_string_get": func(ctx context.Context, to, index uint32) {
			h := hostOf(ctx)
			var at, length uint32
			if s, ok := h.values[index].(string); ok {
				at, length = h.give(ctx, []byte(s)), uint32(len(s))
			}
			h.module.Memory().WriteUint32Le(to, at)
			h.module.Memory().WriteUint32Le(to+4, length)
		},
		"__wbg_new_16b304a2cfa7ff4a": func(ctx context.Context) uint32 {
			h := hostOf(ctx)
			return h.keep(&list{})
		},
		"__wbindgen_string_new": func(ctx context.Context, at, length uint32) uint32 {
			h := hostOf(ctx)
			return h.keep(h.text(at, length))
		},
		"__wbg_push_a5b05aedc7234f9f": func(ctx context.Context, index, item uint32) uint32 {
			h := hostOf(ctx)
			l, ok := h.values[index].(*list)
			if !ok {
				return 0
			}
			l.items = append(l.items, h.values[item])
			return uint32(len(l.items))
		},
		"__wbg_length_c20a40f15020d68a": func(ctx context.Context, index uint32) uint32 {
			h := hostOf(ctx)
			switch v := h.values[index].(type) {
			case []byte:
				return uint32(len(v))
			case view:
				return v.length
			}
			return 0
		},
		"__wbg_set_a47bac70306a19a7": func(ctx context.Context, to, from, offset uint32) {
			h := hostOf(ctx)
			b := h.bytes(from)
			v, ok := h.values[to].(view) // only into the module's own memory
			if ok && uint64(offset)+uint64(len(b)) <= uint64(v.length) {
				h.module.Memory().Write(v.at+offset, b)
			}
		},
		"__wbindgen_throw": func(ctx context.Context, at, length uint32) {
			h := hostOf(ctx)
			panic(thrown{h.text(at, length)})
		},
	}
}

// memory stands for the module's memory, and view for a part of it.
type (
	memory struct{}
	view   struct{ at, length uint32 }
)

// copyOf is an array of bytes of its own with what a value holds. A view of all memory
// is what the module makes to be written through, and stays one.
func (h *host) copyOf(index uint32) any {
	switch v := h.values[index].(type) {
	case view:
		b, ok := h.module.Memory().Read(v.at, v.length)
		if !ok {
			panic(thrown{"bytes outside of memory"})
		}
		return append([]byte(nil), b...)
	case memory:
		return view{0, h.module.Memory().Size()}
	case []byte:
		return append([]byte(nil), v...)
	}
	return []byte(nil)
}

func truth(v bool) uint32 {
	if v {
		return 1
	}
	return 0
}

// bind gives a runtime the module of the host's functions.
func bind(ctx context.Context, r wazero.Runtime) error {
	b := r.NewHostModuleBuilder("wbg")
	for name, f := range functions() {
		b = b.NewFunctionBuilder().WithFunc(f).Export(name)
	}
	if _, err := b.Instantiate(ctx); err != nil {
		return fmt.Errorf("resvg's host: %w", err)
	}
	return nil
}
