#include "textflag.h"

// A Double is 256 bytes: four vectors of real parts, then four of imaginary ones. A
// Single is 128 bytes, of which half a vector at a time is widened. There is one block
// at least.

// CTIMES multiplies the complex numbers at off and 128+off of DI by re and im. It
// uses Y8 to Y13.
#define CTIMES(off, re, im) \
	VMOVUPD off(DI), Y8       \
	VMOVUPD (128+off)(DI), Y9 \
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

// func mixAVX2(out *Double, rest *float64, parts *Part, count, n int)
TEXT ·mixAVX2(SB), NOSPLIT, $0-40
	MOVQ out+0(FP), DI
	MOVQ rest+8(FP), SI
	MOVQ parts+16(FP), DX
	MOVQ count+24(FP), CX
	MOVQ n+32(FP), BX
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
	ADDQ $8, R9
	ADDQ $128, R10
	DECQ BX
	JNZ  block
	VZEROUPPER
	RET

// func mulAVX2(out, x *Double, n int)
TEXT ·mulAVX2(SB), NOSPLIT, $0-24
	MOVQ out+0(FP), DI
	MOVQ x+8(FP), SI
	MOVQ n+16(FP), CX

block:
	VMOVUPD 0(SI), Y0
	VMOVUPD 32(SI), Y1
	VMOVUPD 64(SI), Y2
	VMOVUPD 96(SI), Y3
	VMOVUPD 128(SI), Y4
	VMOVUPD 160(SI), Y5
	VMOVUPD 192(SI), Y6
	VMOVUPD 224(SI), Y7
	CTIMES(0, Y0, Y4)
	CTIMES(32, Y1, Y5)
	CTIMES(64, Y2, Y6)
	CTIMES(96, Y3, Y7)
	ADDQ    $256, DI
	ADDQ    $256, SI
	DECQ    CX
	JNZ     block
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

// func addAVX2(out *Double, p *float64, x *Double, n int)
TEXT ·addAVX2(SB), NOSPLIT, $0-32
	MOVQ out+0(FP), DI
	MOVQ p+8(FP), DX
	MOVQ x+16(FP), SI
	MOVQ n+24(FP), CX

block:
	LOAD
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
	LOAD

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
	MOVQ    turn+16(FP), DI
	LOAD
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
