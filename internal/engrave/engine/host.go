package engine

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/tetratelabs/wazero/api"
)

// An importFunc does what an import of the module asks for. Arguments arrive
// in s, masked to their types; the result is left in s[0].
type importFunc struct {
	do      func(t *Toolkit, s []uint64)
	params  []api.ValueType
	results []api.ValueType
}

const (
	i32 = api.ValueTypeI32
	i64 = api.ValueTypeI64
	f64 = api.ValueTypeF64
)

var (
	noResult = []api.ValueType{}
	oneI32   = []api.ValueType{i32}
)

func i32s(n int) []api.ValueType { return slices.Repeat(oneI32, n) }

// imports lists what the module's C library asks of its surroundings. Names
// and signatures are those of Emscripten's system library and of WASI
// preview 1.
func imports() map[string]importFunc {
	return map[string]importFunc{
		"_emscripten_fs_load_embedded_files": {loadFiles, i32s(1), noResult},
		"__syscall_openat":                   {openAt, i32s(4), oneI32},
		"__syscall_fcntl64":                  {fcntl, i32s(3), oneI32},
		"__syscall_ioctl":                    {ioctl, i32s(3), oneI32},
		"__syscall_getdents64":               {getDents, i32s(3), oneI32},
		"fd_close":                           {fdClose, i32s(1), oneI32},
		"fd_read":                            {fdRead, i32s(4), oneI32},
		"fd_seek":                            {fdSeek, []api.ValueType{i32, i64, i32, i32}, oneI32},
		"fd_write":                           {fdWrite, i32s(4), oneI32},
		"emscripten_asm_const_int":           {consoleLog, i32s(3), oneI32},
		"emscripten_resize_heap":             {resizeHeap, i32s(1), oneI32},
		"emscripten_date_now":                {dateNow, nil, []api.ValueType{f64}},
		"_localtime_js":                      {localTime, []api.ValueType{i64, i32}, oneI32},
		"_mktime_js":                         {makeTime, i32s(1), []api.ValueType{i64}},
		"_tzset_js":                          {timeZone, i32s(4), noResult},
		"random_get":                         {randomGet, i32s(2), oneI32},
		"environ_get":                        {func(_ *Toolkit, s []uint64) { s[0] = 0 }, i32s(2), oneI32},
		"environ_sizes_get":                  {environSizes, i32s(2), oneI32},
		"__assert_fail":                      {assertFail, i32s(4), noResult},
		"exit":                               {func(_ *Toolkit, s []uint64) { panic(fmt.Errorf("exit %d", int32(s[0]))) }, i32s(1), noResult},
		"_abort_js":                          {func(*Toolkit, []uint64) { panic(errors.New("abort")) }, nil, noResult},
	}
}

// provideImports makes the host module. An import that is not in the table, or
// has another signature, is an error.
func (e *Engine) provideImports(ctx context.Context) error {
	table := imports()
	b := e.runtime.NewHostModuleBuilder("env")
	for _, f := range e.code.ImportedFunctions() {
		from, name, _ := f.Import()
		imp, ok := table[name]
		if from != "env" || !ok {
			return fmt.Errorf("it asks for %s.%s, which the host does not have", from, name)
		}
		if !slices.Equal(imp.params, f.ParamTypes()) || !slices.Equal(imp.results, f.ResultTypes()) {
			return fmt.Errorf("it asks for %s with another signature", name)
		}
		b = b.NewFunctionBuilder().WithGoModuleFunction(api.GoModuleFunc(func(ctx context.Context, m api.Module, stack []uint64) {
			t := toolkitOf(ctx)
			if t.mem == nil { // during instantiation
				t.mem = m.Memory()
			}
			for i, p := range imp.params {
				if p == i32 { // the upper halves of the slots hold garbage
					stack[i] = uint64(uint32(stack[i]))
				}
			}
			if t.ctx.Err() != nil {
				panic(context.Cause(t.ctx))
			}
			imp.do(t, stack)
		}), imp.params, imp.results).Export(name)
	}
	_, err := b.Instantiate(ctx)
	return err
}

func fail(errno int32) uint64 { return uint64(uint32(-errno)) }

// ---- files ----

func loadFiles(t *Toolkit, s []uint64) { t.open.files.load(t, uint32(s[0])) }

// openAt: folder, path, flags, arguments.
func openAt(t *Toolkit, s []uint64) {
	s[0] = uint64(uint32(t.open.open(string(t.bytesAt(uint32(s[1]))), uint32(s[2]))))
}

// fcntl: descriptor, command, arguments. Flags can be read and set without
// effect; nothing can be duplicated.
func fcntl(_ *Toolkit, s []uint64) {
	switch s[1] {
	case 1, 2, 3, 4, 13, 14: // get and set flags, locks
		s[0] = 0
	default:
		s[0] = fail(errInvalid)
	}
}

func ioctl(_ *Toolkit, s []uint64) { s[0] = fail(errNotTerminal) }

// getDents: descriptor, buffer, size. Each record has 280 bytes: inode, next
// offset, length, kind, name.
func getDents(t *Toolkit, s []uint64) {
	const size = 280
	f := t.open.byFD[int32(s[0])]
	if f == nil || f.names == nil {
		s[0] = fail(errNotDir)
		return
	}
	n := uint32(0)
	for f.pos < int64(len(f.names)) && n+size <= uint32(s[2]) {
		name := f.names[f.pos]
		rec := make([]byte, size)
		binary.LittleEndian.PutUint64(rec, uint64(f.pos+1))
		binary.LittleEndian.PutUint64(rec[8:], uint64((f.pos+1)*size))
		binary.LittleEndian.PutUint16(rec[16:], size)
		rec[18] = 8 // a regular file
		if t.open.isDir(f, name) {
			rec[18] = 4
		}
		copy(rec[19:size-1], name)
		t.mem.Write(uint32(s[1])+n, rec)
		n += size
		f.pos++
	}
	s[0] = uint64(n)
}

func fdClose(t *Toolkit, s []uint64) {
	if _, ok := t.open.byFD[int32(s[0])]; !ok {
		s[0] = errBadFile
		return
	}
	delete(t.open.byFD, int32(s[0]))
	s[0] = 0
}

// vectors calls f with each buffer of a list of n (address, length) pairs.
func (t *Toolkit) vectors(at, n uint32, f func(p, l uint32) bool) {
	for ; n > 0; n, at = n-1, at+8 {
		p, ok1 := t.mem.ReadUint32Le(at)
		l, ok2 := t.mem.ReadUint32Le(at + 4)
		if !ok1 || !ok2 || !f(p, l) {
			return
		}
	}
}

// fdRead: descriptor, buffers, their number, where to put the count.
func fdRead(t *Toolkit, s []uint64) {
	f := t.open.byFD[int32(s[0])]
	if f == nil || f.names != nil {
		s[0] = errBadFile
		return
	}
	total := uint32(0)
	t.vectors(uint32(s[1]), uint32(s[2]), func(p, l uint32) bool {
		if f.pos >= int64(len(f.data)) {
			return false
		}
		n := min(int64(l), int64(len(f.data))-f.pos)
		t.mem.Write(p, f.data[f.pos:f.pos+n])
		f.pos += n
		total += uint32(n)
		return n == int64(l)
	})
	t.mem.WriteUint32Le(uint32(s[3]), total)
	s[0] = 0
}

// fdSeek: descriptor, offset, from where (start, here, end), where to put the
// new offset.
func fdSeek(t *Toolkit, s []uint64) {
	f := t.open.byFD[int32(s[0])]
	if f == nil {
		s[0] = errBadFile
		return
	}
	pos := int64(s[1])
	switch s[2] {
	case 1:
		pos += f.pos
	case 2:
		pos += int64(len(f.data))
	}
	if pos < 0 {
		s[0] = errInvalid
		return
	}
	f.pos = pos
	t.mem.WriteUint64Le(uint32(s[3]), uint64(pos))
	s[0] = 0
}

// fdWrite: descriptor, buffers, their number, where to put the count. Only
// standard output and error exist; both go to the log.
func fdWrite(t *Toolkit, s []uint64) {
	if s[0] != 1 && s[0] != 2 {
		s[0] = errBadFile
		return
	}
	total := uint32(0)
	t.vectors(uint32(s[1]), uint32(s[2]), func(p, l uint32) bool {
		b, _ := t.mem.Read(p, l)
		t.say(b)
		total += l
		return true
	})
	t.mem.WriteUint32Le(uint32(s[3]), total)
	s[0] = 0
}

// consoleLog: the engraver's messages, as a call of JavaScript with one string.
func consoleLog(t *Toolkit, s []uint64) {
	if p, ok := t.mem.ReadUint32Le(uint32(s[2])); ok {
		t.say(t.bytesAt(p))
	}
	s[0] = 0
}

// ---- memory ----

// resizeHeap grows memory to at least the wanted size and some more, as the
// C library expects, and reports whether that was possible. The runtime holds
// the limit.
func resizeHeap(t *Toolkit, s []uint64) {
	want, old := uint64(uint32(s[0])), uint64(t.mem.Size())
	s[0] = 0
	for _, more := range []uint64{old / 5, old / 20, 0} {
		size := max(want, min(old+more, want+96<<20))
		size = (size + pageSize - 1) &^ (pageSize - 1)
		if size < old || size > 4<<30 {
			continue
		}
		if t.grow(uint32((size - old) / pageSize)) {
			s[0] = 1
			return
		}
	}
}

// ---- clock, chance, surroundings: all fixed ----

func dateNow(_ *Toolkit, s []uint64) { s[0] = api.EncodeF64(0) }

func localTime(t *Toolkit, s []uint64) {
	t.writeTime(uint32(s[1]), time.Unix(int64(s[0]), 0).UTC())
	s[0] = 0
}

func makeTime(t *Toolkit, s []uint64) {
	at := uint32(s[0])
	get := func(i uint32) int {
		v, _ := t.mem.ReadUint32Le(at + 4*i)
		return int(int32(v))
	}
	d := time.Date(get(5)+1900, time.Month(get(4)+1), get(3), get(2), get(1), get(0), 0, time.UTC)
	t.writeTime(at, d)
	s[0] = uint64(d.Unix())
}

// writeTime writes a struct tm: nine numbers and the offset from UTC.
func (t *Toolkit) writeTime(at uint32, d time.Time) {
	for i, v := range []int{d.Second(), d.Minute(), d.Hour(), d.Day(), int(d.Month()) - 1,
		d.Year() - 1900, int(d.Weekday()), d.YearDay() - 1, 0, 0} {
		t.mem.WriteUint32Le(at+uint32(4*i), uint32(int32(v)))
	}
}

// timeZone: where to put the offset, whether there is summer time, two names.
func timeZone(t *Toolkit, s []uint64) {
	t.mem.WriteUint32Le(uint32(s[0]), 0)
	t.mem.WriteUint32Le(uint32(s[1]), 0)
	t.mem.WriteString(uint32(s[2]), "UTC\x00")
	t.mem.WriteString(uint32(s[3]), "UTC\x00")
}

func randomGet(t *Toolkit, s []uint64) {
	if b, ok := t.mem.Read(uint32(s[0]), uint32(s[1])); ok {
		clear(b)
	}
	s[0] = 0
}

func environSizes(t *Toolkit, s []uint64) {
	t.mem.WriteUint32Le(uint32(s[0]), 0)
	t.mem.WriteUint32Le(uint32(s[1]), 0)
	s[0] = 0
}

func assertFail(t *Toolkit, s []uint64) {
	panic(fmt.Errorf("assertion %s failed in %s:%d", t.bytesAt(uint32(s[0])), t.bytesAt(uint32(s[1])), uint32(s[2])))
}
