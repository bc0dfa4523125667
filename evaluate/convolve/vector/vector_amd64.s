#include "textflag.h"

// A Double is 256 bytes: four vectors of real parts, then four of imaginary ones. A
// Single is 128 bytes, of which half a vector at a time is widened. There is one block
// at least.

// CTIMES multiplies the complex numbers at off and 128+off of AX by re and im, into DI.
// It uses Y8 to Y13.
#define CTIMES(off, re, im) \
	VMOVUPD off(AX), Y8       \
	VMOVUPD (128+off)(AX), Y9 \
	VMULPD  re, Y8, Y10       \
	VMULPD  im, Y9, Y11       \
	VMULPD  im, Y8, Y12       \
	VMULPD  re, Y9, Y13       \
	VSUBPD  Y11, Y10, Y10     \
	VADDPD  Y13, Y12, Y12     \
	VMOVUPD Y10, off(DI)      \
	VMOVUPD Y12, (128+off)(DI)

// MIXIN adds the four singles at off of R8, times Y8, to sum.
#define MIXIN(off, tmp, sum) \
	VCVTPS2PD off(R8), tmp \
	VMULPD    Y8, tmp, tmp \
	VADDPD    tmp, sum, sum

// func mixAVX2(out, x *Double, rest *float64, parts *Part, count, n int)
TEXT ·mixAVX2(SB), NOSPLIT, $0-48
	MOVQ out+0(FP), DI
	MOVQ x+8(FP), AX
	MOVQ rest+16(FP), SI
	MOVQ parts+24(FP), DX
	MOVQ count+32(FP), CX
	MOVQ n+40(FP), BX
	XORQ R9, R9   // offset of the block's chance
	XORQ R10, R10 // and of its values

block:
	VBROADCASTSD (SI)(R9*1), Y0
	VMOVAPD      Y0, Y1
	VMOVAPD      Y0, Y2
	VMOVAPD      Y0, Y3
	VXORPD       Y4, Y4, Y4
	VXORPD       Y5, Y5, Y5
	VXORPD       Y6, Y6, Y6
	VXORPD       Y7, Y7, Y7
	MOVQ         DX, R11
	MOVQ         CX, R12
	TESTQ        CX, CX
	JZ           multiply

part:
	MOVQ         0(R11), R13
	MOVQ         24(R11), R8
	ADDQ         R10, R8
	VBROADCASTSD (R13)(R9*1), Y8
	MIXIN(0, Y9, Y0)
	MIXIN(16, Y10, Y1)
	MIXIN(32, Y11, Y2)
	MIXIN(48, Y12, Y3)
	MIXIN(64, Y13, Y4)
	MIXIN(80, Y14, Y5)
	MIXIN(96, Y15, Y6)
	MIXIN(112, Y9, Y7)
	ADDQ         $48, R11
	DECQ         R12
	JNZ          part

multiply:
	CTIMES(0, Y0, Y4)
	CTIMES(32, Y1, Y5)
	CTIMES(64, Y2, Y6)
	CTIMES(96, Y3, Y7)
	ADDQ $256, DI
	ADDQ $256, AX
	ADDQ $8, R9
	ADDQ $128, R10
	DECQ BX
	JNZ  block
	VZEROUPPER
	RET

// LOAD fills Y0 to Y7 with the Double at from.
#define LOAD(from) \
	VMOVUPD 0(from), Y0   \
	VMOVUPD 32(from), Y1  \
	VMOVUPD 64(from), Y2  \
	VMOVUPD 96(from), Y3  \
	VMOVUPD 128(from), Y4 \
	VMOVUPD 160(from), Y5 \
	VMOVUPD 192(from), Y6 \
	VMOVUPD 224(from), Y7

// func mulAVX2(out, x, y *Double, n int)
TEXT ·mulAVX2(SB), NOSPLIT, $0-32
	MOVQ out+0(FP), DI
	MOVQ x+8(FP), AX
	MOVQ y+16(FP), SI
	MOVQ n+24(FP), CX

block:
	LOAD(SI)
	CTIMES(0, Y0, Y4)
	CTIMES(32, Y1, Y5)
	CTIMES(64, Y2, Y6)
	CTIMES(96, Y3, Y7)
	ADDQ $256, DI
	ADDQ $256, AX
	ADDQ $256, SI
	DECQ CX
	JNZ  block
	VZEROUPPER
	RET

// SCALED adds the four numbers at off of SI, times Y8, to sum.
#define SCALED(off, tmp, sum) \
	VMULPD off(SI), Y8, tmp \
	VADDPD tmp, sum, sum

#define SCALEDALL \
	SCALED(0, Y9, Y0)    \
	SCALED(32, Y10, Y1)  \
	SCALED(64, Y11, Y2)  \
	SCALED(96, Y12, Y3)  \
	SCALED(128, Y13, Y4) \
	SCALED(160, Y14, Y5) \
	SCALED(192, Y15, Y6) \
	SCALED(224, Y9, Y7)

#define STORE \
	VMOVUPD Y0, 0(DI)   \
	VMOVUPD Y1, 32(DI)  \
	VMOVUPD Y2, 64(DI)  \
	VMOVUPD Y3, 96(DI)  \
	VMOVUPD Y4, 128(DI) \
	VMOVUPD Y5, 160(DI) \
	VMOVUPD Y6, 192(DI) \
	VMOVUPD Y7, 224(DI)

// func addAVX2(out *Double, p *float64, x *Double, n int)
TEXT ·addAVX2(SB), NOSPLIT, $0-32
	MOVQ out+0(FP), DI
	MOVQ p+8(FP), DX
	MOVQ x+16(FP), SI
	MOVQ n+24(FP), CX

block:
	LOAD(DI)
	VBROADCASTSD (DX), Y8
	SCALEDALL
	STORE
	ADDQ         $256, DI
	ADDQ         $256, SI
	ADDQ         $8, DX
	DECQ         CX
	JNZ          block
	VZEROUPPER
	RET

// func sumAVX2(out *Double, weights *float64, x *Double, n int)
TEXT ·sumAVX2(SB), NOSPLIT, $0-32
	MOVQ out+0(FP), DI
	MOVQ weights+8(FP), DX
	MOVQ x+16(FP), SI
	MOVQ n+24(FP), CX
	LOAD(DI)

block:
	VBROADCASTSD (DX), Y8
	SCALEDALL
	ADDQ         $256, SI
	ADDQ         $8, DX
	DECQ         CX
	JNZ          block
	STORE
	VZEROUPPER
	RET

// TURNED multiplies the four singles at off and 64+off of SI by re and im, into DI.
#define TURNED(off, re, im) \
	VCVTPS2PD  off(SI), Y8      \
	VCVTPS2PD  (64+off)(SI), Y9 \
	VMULPD     re, Y8, Y10      \
	VMULPD     im, Y9, Y11      \
	VMULPD     im, Y8, Y12      \
	VMULPD     re, Y9, Y13      \
	VSUBPD     Y11, Y10, Y10    \
	VADDPD     Y13, Y12, Y12    \
	VCVTPD2PSY Y10, X10         \
	VCVTPD2PSY Y12, X12         \
	VMOVUPS    X10, off(DI)     \
	VMOVUPS    X12, (64+off)(DI)

// func turnAVX2(out, x *Single, turn *Double, n int)
TEXT ·turnAVX2(SB), NOSPLIT, $0-32
	MOVQ turn+16(FP), SI
	LOAD(SI)
	MOVQ    out+0(FP), DI
	MOVQ    x+8(FP), SI
	MOVQ    n+24(FP), CX

block:
	TURNED(0, Y0, Y4)
	TURNED(16, Y1, Y5)
	TURNED(32, Y2, Y6)
	TURNED(48, Y3, Y7)
	ADDQ    $128, DI
	ADDQ    $128, SI
	DECQ    CX
	JNZ     block
	VZEROUPPER
	RET

// LEAP multiplies Y0 and Y1 by Y2 and Y3 and stores them at off.
#define LEAP(off) \
	VMULPD  Y2, Y0, Y4          \
	VMULPD  Y3, Y1, Y5          \
	VMULPD  Y3, Y0, Y6          \
	VMULPD  Y2, Y1, Y7          \
	VSUBPD  Y5, Y4, Y0          \
	VADDPD  Y7, Y6, Y1          \
	VMOVUPD Y0, off(DI)         \
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
