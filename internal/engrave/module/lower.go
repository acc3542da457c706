package module

import (
	"errors"
	"fmt"
)

// Lowering takes exception handling out of the code.
//
// Problem: the module was compiled with the legacy exception instructions
// (try, catch, throw, rethrow, delegate), which the Go runtime refuses.
//
// What is done: a try becomes a block, its handlers are dropped, a throw
// becomes unreachable, which traps. So code that never throws runs as before,
// and a throw ends the call; the host then reports an error and throws the
// instance away, since destructors have not run. One pass, linear in the size
// of the code.
//
// Rejected: translating to the newer exception instructions (runs, but 22
// times slower in this runtime, with 27 GB allocated a page); interpreting (5 s
// a page); translating the module to Go (27 MB of source, minutes to compile).
//
// Stopping: at the head of every loop a check is put in: if the byte at
// StopFlag is not zero, trap. A host that writes this byte so ends a call that
// takes too long. It costs about a tenth of the time; the runtime's own way to
// stop a call costs four times the whole.
//
// Source: WebAssembly exception handling proposal, legacy form; opcode shapes
// from WebAssembly Core Specification 2.0, 5.4.

// StopFlag is the address of a byte in the module's memory: a prepared module
// traps at the next turn of a loop once it is not zero. The C compiler of the
// package puts no data below 1024.
const StopFlag = 16

// loopCheck is: i32.const 0, i32.load8_u offset=StopFlag, if, unreachable, end.
var loopCheck = []byte{0x41, 0, 0x2d, 0, StopFlag, opIf, 0x40, opUnreachable, opEnd}

const (
	opUnreachable = 0x00
	opBlock       = 0x02
	opLoop        = 0x03
	opIf          = 0x04
	opTry         = 0x06
	opCatch       = 0x07
	opThrow       = 0x08
	opRethrow     = 0x09
	opEnd         = 0x0b
	opDelegate    = 0x18
	opCatchAll    = 0x19
)

func lowerCode(body []byte) ([]byte, error) {
	r := &reader{b: body}
	n := r.u32()
	out := appendU32(make([]byte, 0, len(body)), n)
	for range r.count(n) {
		f, err := lowerFunction(spare(r.take(int(r.u32()))))
		if err != nil {
			return nil, err
		}
		out = appendU32(out, uint32(len(f)))
		out = append(out, f...)
	}
	return out, r.err
}

func lowerFunction(b []byte) ([]byte, error) {
	r := &reader{b: b}
	for range r.count(r.u32()) { // locals
		r.leb()
		r.u8()
	}
	out := append(make([]byte, 0, len(b)), r.since(0)...)
	depth := 0    // open blocks
	dropped := -1 // depth of the try whose handlers are being dropped
	for r.more() {
		at := r.p
		op := r.u8()
		keep := true
		switch op {
		case opBlock, opLoop, opIf:
			r.leb()
			depth++
		case opTry:
			r.leb()
			depth++
			if dropped < 0 {
				out = append(append(out, opBlock), r.since(at+1)...)
			}
			keep = false
		case opCatch, opCatchAll:
			if op == opCatch {
				r.leb()
			}
			if dropped < 0 {
				dropped = depth
			}
			keep = false
		case opThrow:
			r.leb()
			if dropped < 0 {
				out = append(out, opUnreachable)
			}
			keep = false
		case opRethrow:
			r.leb()
			if dropped < 0 {
				return nil, errors.New("rethrow outside a handler")
			}
		case opDelegate:
			r.leb()
			if dropped < 0 {
				out = append(out, opEnd)
			}
			depth--
			keep = false
		case opEnd:
			if depth == dropped {
				dropped = -1
			}
			if depth == 0 && r.more() {
				return nil, errors.New("code after the end of a function")
			}
			depth--
		default:
			if err := r.operands(op); err != nil {
				return nil, err
			}
		}
		if keep && dropped < 0 {
			out = append(out, r.since(at)...)
			if op == opLoop {
				out = append(out, loopCheck...)
			}
		}
	}
	return out, r.err
}

// operands skips the operands of an instruction that opens or closes nothing.
func (r *reader) operands(op byte) error {
	switch {
	case op == 0x0c, op == 0x0d, op == 0x10, op >= 0x20 && op <= 0x26,
		op >= 0x3f && op <= 0x42, op == 0xd0, op == 0xd2: // one number
		r.leb()
	case op == 0x11, op >= 0x28 && op <= 0x3e: // two
		r.leb()
		r.leb()
	case op == 0x0e: // br_table
		for range r.count(r.u32()) {
			r.leb()
		}
		r.leb()
	case op == 0x1c: // select with types
		r.take(int(r.u32()))
	case op == 0x43:
		r.take(4)
	case op == 0x44:
		r.take(8)
	case op == 0xfc:
		switch sub := r.u32(); {
		case sub <= 7:
		case sub == 8, sub == 10, sub == 12, sub == 14:
			r.leb()
			r.leb()
		case sub <= 17:
			r.leb()
		default:
			return fmt.Errorf("unknown instruction 0xfc %d", sub)
		}
	case op <= 0x01, op == 0x05, op == 0x0f, op == 0x1a, op == 0x1b, op == 0xd1, op >= 0x45 && op <= 0xc4:
	default:
		return fmt.Errorf("unknown instruction %#x", op)
	}
	return nil
}
