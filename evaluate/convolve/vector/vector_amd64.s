#include "textflag.h"

// A Single is 128 bytes: two vectors of real parts, then two of imaginary ones. A
// Double is 256 bytes, likewise with four, a packed block 64 bytes with one, or 32. A Part is 56 bytes.

// PRODUCT stores the complex numbers at off and 64+off of AX, times re and im, at DI.
// It uses Y8 to Y13.
#define PRODUCT(off, re, im) \
	VMOVUPS off(AX), Y8      \
	VMOVUPS (64+off)(AX), Y9 \
	VMULPS  re, Y8, Y10      \
	VMULPS  im, Y9, Y11      \
	VMULPS  im, Y8, Y12      \
	VMULPS  re, Y9, Y13      \
	VSUBPS  Y11, Y10, Y10    \
	VADDPS  Y13, Y12, Y12    \
	VMOVUPS Y10, off(DI)     \
	VMOVUPS Y12, (64+off)(DI)

// SCALED adds the eight numbers at off of from, times Y8, to sum.
#define SCALED(off, from, tmp, sum) \
	VMULPS off(from), Y8, tmp \
	VADDPS tmp, sum, sum

// SHORTS adds the eight shorts at off of from, times Y8, to sum.
#define SHORTS(off, from, tmp, sum) \
	VPMOVSXWD off(from), tmp \
	VCVTDQ2PS tmp, tmp       \
	VMULPS    tmp, Y8, tmp   \
	VADDPS    tmp, sum, sum

// BYTES is SHORTS of bytes.
#define BYTES(off, from, tmp, sum) \
	VPMOVSXBD off(from), tmp \
	VCVTDQ2PS tmp, tmp       \
	VMULPS    tmp, Y8, tmp   \
	VADDPS    tmp, sum, sum

// SPREAD fills to, which is y and x, with the double at from in single precision.
#define SPREAD(from, x, y) \
	VCVTSD2SS    from, x, x \
	VBROADCASTSS x, y

// func mixAVX2(out, x *Single, rest *float64, parts *Part, count, n int)
TEXT ·mixAVX2(SB), NOSPLIT, $0-48
	MOVQ   out+0(FP), DI
	MOVQ   x+8(FP), AX
	MOVQ   rest+16(FP), SI
	MOVQ   parts+24(FP), DX
	MOVQ   count+32(FP), CX
	MOVQ   n+40(FP), BX
	XORQ   R9, R9           // offset of the block's chance
	XORQ   R10, R10         // and of its values, where they are narrow
	VXORPS X0, X0, X0
	VXORPS X8, X8, X8

block:
	SPREAD((SI)(R9*1), X0, Y0)
	VMOVAPS Y0, Y1
	VXORPS  Y2, Y2, Y2
	VXORPS  Y3, Y3, Y3
	MOVQ    DX, R11
	MOVQ    CX, R12
	TESTQ   CX, CX
	JZ      multiply

part:
	MOVQ         0(R11), R13
	MOVQ         24(R11), R8
	ADDQ         R10, R8
	VCVTSD2SS    (R13)(R9*1), X8, X8
	VMULSS       48(R11), X8, X8
	VBROADCASTSS X8, Y8
	CMPB         52(R11), $0
	JEQ          wide
	BYTES(0, R8, Y9, Y0)
	BYTES(8, R8, Y10, Y1)
	BYTES(16, R8, Y11, Y2)
	BYTES(24, R8, Y12, Y3)
	JMP          added

wide:
	ADDQ R10, R8
	SHORTS(0, R8, Y9, Y0)
	SHORTS(16, R8, Y10, Y1)
	SHORTS(32, R8, Y11, Y2)
	SHORTS(48, R8, Y12, Y3)

added:
	ADDQ         $56, R11
	DECQ         R12
	JNZ          part

multiply:
	PRODUCT(0, Y0, Y2)
	PRODUCT(32, Y1, Y3)
	ADDQ $128, DI
	ADDQ $128, AX
	ADDQ $8, R9
	ADDQ $32, R10
	DECQ BX
	JNZ  block
	VZEROUPPER
	RET

// func mulAVX2(out, x, y *Single, n int)
TEXT ·mulAVX2(SB), NOSPLIT, $0-32
	MOVQ out+0(FP), DI
	MOVQ x+8(FP), AX
	MOVQ y+16(FP), SI
	MOVQ n+24(FP), CX

block:
	VMOVUPS 0(SI), Y0
	VMOVUPS 32(SI), Y1
	VMOVUPS 64(SI), Y2
	VMOVUPS 96(SI), Y3
	PRODUCT(0, Y0, Y2)
	PRODUCT(32, Y1, Y3)
	ADDQ    $128, DI
	ADDQ    $128, AX
	ADDQ    $128, SI
	DECQ    CX
	JNZ     block
	VZEROUPPER
	RET

// func addAVX2(out *Single, p *float64, x *Single, n int)
TEXT ·addAVX2(SB), NOSPLIT, $0-32
	MOVQ   out+0(FP), DI
	MOVQ   p+8(FP), DX
	MOVQ   x+16(FP), SI
	MOVQ   n+24(FP), CX
	VXORPS X8, X8, X8

block:
	VMOVUPS 0(DI), Y0
	VMOVUPS 32(DI), Y1
	VMOVUPS 64(DI), Y2
	VMOVUPS 96(DI), Y3
	SPREAD((DX), X8, Y8)
	SCALED(0, SI, Y9, Y0)
	SCALED(32, SI, Y10, Y1)
	SCALED(64, SI, Y11, Y2)
	SCALED(96, SI, Y12, Y3)
	VMOVUPS Y0, 0(DI)
	VMOVUPS Y1, 32(DI)
	VMOVUPS Y2, 64(DI)
	VMOVUPS Y3, 96(DI)
	ADDQ    $128, DI
	ADDQ    $128, SI
	ADDQ    $8, DX
	DECQ    CX
	JNZ     block
	VZEROUPPER
	RET

#define LOAD \
	VMOVUPD 0(DI), Y0   \
	VMOVUPD 32(DI), Y1  \
	VMOVUPD 64(DI), Y2  \
	VMOVUPD 96(DI), Y3  \
	VMOVUPD 128(DI), Y4 \
	VMOVUPD 160(DI), Y5 \
	VMOVUPD 192(DI), Y6 \
	VMOVUPD 224(DI), Y7

#define STORE \
	VMOVUPD Y0, 0(DI)   \
	VMOVUPD Y1, 32(DI)  \
	VMOVUPD Y2, 64(DI)  \
	VMOVUPD Y3, 96(DI)  \
	VMOVUPD Y4, 128(DI) \
	VMOVUPD Y5, 160(DI) \
	VMOVUPD Y6, 192(DI) \
	VMOVUPD Y7, 224(DI)

// WIDENED adds the four singles at off of SI, times Y8, to sum.
#define WIDENED(off, tmp, sum) \
	VCVTPS2PD off(SI), tmp \
	VMULPD    Y8, tmp, tmp \
	VADDPD    tmp, sum, sum

// func meanAVX2(out *Double, weights *float64, x *Single, n int)
TEXT ·meanAVX2(SB), NOSPLIT, $0-32
	MOVQ out+0(FP), DI
	MOVQ weights+8(FP), DX
	MOVQ x+16(FP), SI
	MOVQ n+24(FP), CX
	LOAD

block:
	VBROADCASTSD (DX), Y8
	WIDENED(0, Y9, Y0)
	WIDENED(16, Y10, Y1)
	WIDENED(32, Y11, Y2)
	WIDENED(48, Y12, Y3)
	WIDENED(64, Y13, Y4)
	WIDENED(80, Y14, Y5)
	WIDENED(96, Y15, Y6)
	WIDENED(112, Y9, Y7)
	ADDQ         $128, SI
	ADDQ         $8, DX
	DECQ         CX
	JNZ          block
	STORE
	VZEROUPPER
	RET

// SCALED2 adds the four doubles at off of SI, times Y8, to sum.
#define SCALED2(off, tmp, sum) \
	VMULPD off(SI), Y8, tmp \
	VADDPD tmp, sum, sum

// func sumAVX2(out *Double, weights *float64, x *Double, n int)
TEXT ·sumAVX2(SB), NOSPLIT, $0-32
	MOVQ out+0(FP), DI
	MOVQ weights+8(FP), DX
	MOVQ x+16(FP), SI
	MOVQ n+24(FP), CX
	LOAD

block:
	VBROADCASTSD (DX), Y8
	SCALED2(0, Y9, Y0)
	SCALED2(32, Y10, Y1)
	SCALED2(64, Y11, Y2)
	SCALED2(96, Y12, Y3)
	SCALED2(128, Y13, Y4)
	SCALED2(160, Y14, Y5)
	SCALED2(192, Y15, Y6)
	SCALED2(224, Y9, Y7)
	ADDQ         $256, SI
	ADDQ         $8, DX
	DECQ         CX
	JNZ          block
	STORE
	VZEROUPPER
	RET

// PRODUCT2 multiplies the complex numbers at off and 128+off of DI by those of SI.
#define PRODUCT2(off) \
	VMOVUPD off(DI), Y8       \
	VMOVUPD (128+off)(DI), Y9 \
	VMOVUPD off(SI), Y0       \
	VMOVUPD (128+off)(SI), Y1 \
	VMULPD  Y0, Y8, Y10       \
	VMULPD  Y1, Y9, Y11       \
	VMULPD  Y1, Y8, Y12       \
	VMULPD  Y0, Y9, Y13       \
	VSUBPD  Y11, Y10, Y10     \
	VADDPD  Y13, Y12, Y12     \
	VMOVUPD Y10, off(DI)      \
	VMOVUPD Y12, (128+off)(DI)

// func timesAVX2(x, y *Double)
TEXT ·timesAVX2(SB), NOSPLIT, $0-16
	MOVQ x+0(FP), DI
	MOVQ y+8(FP), SI
	PRODUCT2(0)
	PRODUCT2(32)
	PRODUCT2(64)
	PRODUCT2(96)
	VZEROUPPER
	RET

// LEAP multiplies Y0 and Y1 by Y2 and Y3 and stores them at off.
#define LEAP(off) \
	VMULPD  Y2, Y0, Y4  \
	VMULPD  Y3, Y1, Y5  \
	VMULPD  Y3, Y0, Y6  \
	VMULPD  Y2, Y1, Y7  \
	VSUBPD  Y5, Y4, Y0  \
	VADDPD  Y7, Y6, Y1  \
	VMOVUPD Y0, off(DI) \
	VMOVUPD Y1, (128+off)(DI)

// func powersAVX2(out *Double, at *[4]complex128, leap complex128)
TEXT ·powersAVX2(SB), NOSPLIT, $0-32
	MOVQ         out+0(FP), DI
	MOVQ         at+8(FP), SI
	VBROADCASTSD leap_real+16(FP), Y2
	VBROADCASTSD leap_imag+24(FP), Y3
	VMOVUPD      0(SI), Y4
	VMOVUPD      32(SI), Y5
	VUNPCKLPD    Y5, Y4, Y0           // real parts 0, 2, 1, 3
	VUNPCKHPD    Y5, Y4, Y1
	VPERMPD      $0xd8, Y0, Y0
	VPERMPD      $0xd8, Y1, Y1
	VMOVUPD      Y0, 0(DI)
	VMOVUPD      Y1, 128(DI)
	LEAP(32)
	LEAP(64)
	LEAP(96)
	VZEROUPPER
	RET

// TIMES multiplies the eight complex numbers in re and im by those in byRe and byIm. It uses
// Y8 to Y11.
#define TIMES(byRe, byIm, re, im) \
	VMULPS byRe, re, Y8  \
	VMULPS byIm, im, Y9  \
	VMULPS byIm, re, Y10 \
	VMULPS byRe, im, Y11 \
	VSUBPS Y9, Y8, re    \
	VADDPS Y11, Y10, im

// SQUARE squares the complex numbers in Y0 and Y1. It uses Y8 to Y10.
#define SQUARE \
	VMULPS Y0, Y0, Y8  \
	VMULPS Y1, Y1, Y9  \
	VMULPS Y1, Y0, Y10 \
	VSUBPS Y9, Y8, Y0  \
	VADDPS Y10, Y10, Y1

// WHERE sets Y4 and Y5 to the numbers in Y0 and Y1 in some lanes, and to 1 in the others.
#define WHERE(lanes) \
	VBLENDPS lanes, Y0, Y14, Y4 \
	VBLENDPS lanes, Y1, Y15, Y5

DATA ·ones+0(SB)/4, $1.0
GLOBL ·ones(SB), RODATA|NOPTR, $4

// func wavesAVX2(out *Single, waves *Wave, n, parts int)
TEXT ·wavesAVX2(SB), NOSPLIT, $0-32
	MOVQ         out+0(FP), DI
	MOVQ         waves+8(FP), SI
	MOVQ         n+16(FP), CX
	MOVQ         CX, DX
	SHLQ         $7, DX                // from one part of a wave to the next
	VBROADCASTSS ·ones(SB), Y14
	VXORPS       Y15, Y15, Y15

wave:
	VBROADCASTSS 8(SI), Y0
	VBROADCASTSS 12(SI), Y1
	VBLENDPS     $0xaa, Y0, Y14, Y2
	VBLENDPS     $0xaa, Y1, Y15, Y3
	SQUARE
	WHERE($0xcc)
	TIMES(Y4, Y5, Y2, Y3)
	SQUARE
	WHERE($0xf0)
	TIMES(Y4, Y5, Y2, Y3)
	VBROADCASTSS 0(SI), Y4
	VBROADCASTSS 4(SI), Y5
	TIMES(Y4, Y5, Y2, Y3)
	SQUARE
	VMOVAPS Y2, Y6
	VMOVAPS Y3, Y7
	TIMES(Y0, Y1, Y6, Y7)
	MOVQ    DI, AX
	MOVQ    parts+24(FP), BX
	JMP     store

part:
	TIMES(Y0, Y1, Y2, Y3)
	TIMES(Y0, Y1, Y6, Y7)
	ADDQ DX, AX

store:
	VMOVUPS Y2, 0(AX)
	VMOVUPS Y6, 32(AX)
	VMOVUPS Y3, 64(AX)
	VMOVUPS Y7, 96(AX)
	CMPQ    AX, DI
	JNE     next
	SQUARE                 // to the power of Size, once

next:
	DECQ BX
	JNZ  part
	ADDQ $16, SI
	ADDQ $128, DI
	DECQ CX
	JNZ  wave
	VZEROUPPER
	RET

// func weighAVX2(out *Single, turn complex64, weights *float32, x *Single, n int)
TEXT ·weighAVX2(SB), NOSPLIT, $0-40
	MOVQ   out+0(FP), DI
	MOVQ   weights+16(FP), DX
	MOVQ   x+24(FP), SI
	MOVQ   n+32(FP), CX
	VXORPS Y0, Y0, Y0
	VXORPS Y1, Y1, Y1
	VXORPS Y2, Y2, Y2
	VXORPS Y3, Y3, Y3

block:
	VBROADCASTSS (DX), Y8
	SCALED(0, SI, Y9, Y0)
	SCALED(32, SI, Y10, Y1)
	SCALED(64, SI, Y11, Y2)
	SCALED(96, SI, Y12, Y3)
	ADDQ         $128, SI
	ADDQ         $4, DX
	DECQ         CX
	JNZ          block
	VBROADCASTSS turn_real+8(FP), Y4
	VBROADCASTSS turn_imag+12(FP), Y5
	TIMES(Y4, Y5, Y0, Y2)
	TIMES(Y4, Y5, Y1, Y3)
	VMOVUPS      Y0, 0(DI)
	VMOVUPS      Y1, 32(DI)
	VMOVUPS      Y2, 64(DI)
	VMOVUPS      Y3, 96(DI)
	VZEROUPPER
	RET

// func prefetch(x unsafe.Pointer, lines int)
TEXT ·prefetch(SB), NOSPLIT, $0-16
	MOVQ x+0(FP), SI
	MOVQ lines+8(FP), CX

line:
	PREFETCHT0 (SI)
	ADDQ       $64, SI
	DECQ       CX
	JNZ        line
	RET

// LARGER sets most to the larger of it and the sizes of the eight singles at off of SI.
#define LARGER(off, tmp, most) \
	VANDPS off(SI), Y8, tmp  \
	VMAXPS tmp, most, most

DATA ·sizes+0(SB)/4, $0x7fffffff
GLOBL ·sizes(SB), RODATA|NOPTR, $4

// func largestAVX2(x *Single, n int) float32
TEXT ·largestAVX2(SB), NOSPLIT, $0-20
	MOVQ         x+0(FP), SI
	MOVQ         n+8(FP), CX
	VBROADCASTSS ·sizes(SB), Y8
	VXORPS       Y0, Y0, Y0
	VXORPS       Y1, Y1, Y1

block:
	LARGER(0, Y2, Y0)
	LARGER(32, Y3, Y1)
	LARGER(64, Y4, Y0)
	LARGER(96, Y5, Y1)
	ADDQ         $128, SI
	DECQ         CX
	JNZ          block
	VMAXPS       Y1, Y0, Y0
	VEXTRACTF128 $1, Y0, X1
	VMAXPS       X1, X0, X0
	VPSHUFD      $0x4e, X0, X1
	VMAXPS       X1, X0, X0
	VPSHUFD      $0xb1, X0, X1
	VMAXPS       X1, X0, X0
	VMOVSS       X0, ret+16(FP)
	VZEROUPPER
	RET

// WORDS sets lo to the sixteen singles at off of SI, times Y8, as words.
#define WORDS(off, lo, hi) \
	VMULPS    off(SI), Y8, lo      \
	VMULPS    (32+off)(SI), Y8, hi \
	VCVTPS2DQ lo, lo               \
	VCVTPS2DQ hi, hi               \
	VPACKSSDW hi, lo, lo           \
	VPERMQ    $0xd8, lo, lo

// func packAVX2(out *byte, x *Single, times float32, n int, narrow bool)
TEXT ·packAVX2(SB), NOSPLIT, $0-33
	MOVQ         out+0(FP), DI
	MOVQ         x+8(FP), SI
	VBROADCASTSS times+16(FP), Y8
	MOVQ         n+24(FP), CX
	MOVBLZX      narrow+32(FP), DX

block:
	WORDS(0, Y0, Y1)
	WORDS(64, Y2, Y3)
	TESTL     DX, DX
	JNZ       bytes
	VMOVDQU   Y0, 0(DI)
	VMOVDQU   Y2, 32(DI)
	ADDQ      $64, DI
	JMP       next

bytes:
	VPACKSSWB Y2, Y0, Y0
	VPERMQ    $0xd8, Y0, Y0
	VMOVDQU   Y0, 0(DI)
	ADDQ      $32, DI

next:
	ADDQ $128, SI
	DECQ CX
	JNZ  block
	VZEROUPPER
	RET
