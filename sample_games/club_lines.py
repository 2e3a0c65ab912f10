"""The invented table of opening replies by level; club_openings.py says how to read it."""

TABLE = """
* : e4 65 58 50 45, d4 16 24 33 37, Nf3 3 4 6 8, c4 2 3 5 6.8, f4 1 1 1 1, e3 3 2 1 .5,
    b3 1 1 1 1, d3 2 1 .5 .2, Nc3 2 1.5 1 .5, f3? .8 .2 0 0, a4 .8 .2 0 0, h4 .8 .2 0 0
e4 : e5 72 60 43 36, c5 4 10 22 29, e6 5 9 13 14, c6 3 7 10 10, d5 6 7 6 5, d6 2 2 2 2,
    g6 1 1.5 2 2, b6 1.5 1 .5 .3, Nf6 1 1 1.3 1.2, f6 .6 .1 0 0
e4 e5 : Nf3 54 69 77 80, Bc4 16 9 5 4, Qh5 9 3.5 .4 0, Nc3 4 5.5 5 5, d4 4 4 4 3, f4 2 4 4 4,
    Qf3 3 1 .1 0, d3 5 3 1 1, c3 1 .8 .5 .4
e4 e5 Qh5 : Nc6 54 68 84 94, g6? 12 6 1.2 .1, Nf6 8 9 7 4, d6 8 6 3 1, Qe7 7 5 2 .5,
    Qf6 5 3 1 .3, Ke7? .8 .1 0 0
e4 e5 Qh5 g6 : Qxe5! 78 88 97 100
e4 e5 Qh5 Ke7 : Qxe5! 78 90 98 100
e4 e5 Qh5 Nc6 : Bc4 84 80 72 64
e4 e5 Qh5 Nc6 Bc4 : Nf6? 25 13 2 .2, d6? 5 2 .3 0, Nd4? 4 2 .3 0, g6 36 56 80 90,
    Qe7 11 13 9 4, Qf6 12 10 7 4, Nh6 4 3 1 .5
e4 e5 Qh5 Nc6 Bc4 Nf6 : Qxf7! 64 86 98 100
e4 e5 Qh5 Nc6 Bc4 d6 : Qxf7! 64 86 98 100
e4 e5 Qh5 Nc6 Bc4 Nd4 : Qxf7! 64 86 98 100
e4 e5 Qh5 Nc6 Bc4 g6 : Qf3 78 82 84 84
e4 e5 Qh5 Nc6 Bc4 g6 Qf3 : Nf6 50 68 86 94, Qf6 14 14 8 4, f6 6 4 1 0, Bc5? 6 3 .6 .1,
    d6? 6 3 .5 0
e4 e5 Qh5 Nc6 Bc4 g6 Qf3 Bc5 : Qxf7! 64 86 98 100
e4 e5 Qh5 Nc6 Bc4 g6 Qf3 d6 : Qxf7! 64 86 98 100
e4 e5 Bc4 : Nf6 20 30 46 56, Nc6 42 38 30 26, Bc5 18 18 16 12, d6 14 8 4 2
e4 e5 Bc4 Nc6 : Nf3 34 56 80 88, Qh5 32 16 2 .2, Qf3 14 6 1 .1, Nc3 8 8 6 5, d3 6 6 5 3
e4 e5 Bc4 Bc5 : Nf3 40 60 76 84, Qh5 22 9 1.5 .2, Qf3 12 5 1 0, Nc3 10 9 7 6
e4 e5 Bc4 Bc5 Qh5 : Nf6? 20 9 1.5 .1, Nc6? 14 6 .8 .1, d6? 6 2.5 .4 0, Qe7 28 46 64 72,
    g6? 14 8 2 .3, Qf6 14 22 26 26
e4 e5 Bc4 Bc5 Qh5 Nf6 : Qxf7! 64 86 98 100
e4 e5 Bc4 Bc5 Qh5 Nc6 : Qxf7! 64 86 98 100
e4 e5 Bc4 Bc5 Qh5 d6 : Qxf7! 64 86 98 100
e4 e5 Bc4 Bc5 Qh5 g6 : Qxe5! 70 84 96 100
e4 e5 Bc4 Nc6 Qf3 : Nf6 46 66 84 92, Bc5? 10 5 .8 .1, d6? 8 3.5 .5 0, Nd4? 4 2 .4 0,
    Qf6 12 10 8 5
e4 e5 Bc4 Nc6 Qf3 Bc5 : Qxf7! 64 86 98 100
e4 e5 Bc4 Nc6 Qf3 d6 : Qxf7! 64 86 98 100
e4 e5 Bc4 Nc6 Qf3 Nd4 : Qxf7! 60 84 98 100
e4 e5 Qf3 : Nc6 44 56 66 70, Nf6 24 28 30 28, d6 10 6 2 1
e4 e5 Qf3 Nc6 : Bc4 76 80 70 60
e4 e5 Bc4 d6 : Nf3 44 64 80 86, Qf3 16 7 1 .1, Qh5 14 6 1 .1
e4 e5 Bc4 d6 Qf3 : Nf6 44 60 76 84, Nc6? 14 6 .8 .1, Qf6 14 14 12 10, Qe7 8 8 6 4
e4 e5 Bc4 d6 Qf3 Nc6 : Qxf7! 64 86 98 100
e4 e5 Bc4 d6 Qh5 : g6? 12 9 4 1, Nf6? 18 8 1.2 .1, Qe7 26 42 60 70, Qf6 14 20 24 22
e4 e5 Bc4 d6 Qh5 Nf6 : Qxf7! 64 86 98 100
e4 e5 Bc4 Nf6 : d3 34 44 54 60, Nf3 24 22 18 12, Nc3 20 16 12 12, Qf3 8 3 .3 0

e4 e5 Nf3 : Nc6 42 55 74 79, d6 14 12 8 5, Nf6 9 11 13 14, f6? 16 13 2 .1, Bc5? 5 2 .3 0,
    Qf6 4 1.8 .3 0, d5? 2 2 1.4 .8, f5 .6 .6 .6 .6, Bd6 3 .9 .1 0, Qe7 2 .7 .1 0,
    h6? 1.4 .4 0 0
e4 e5 Nf3 Bc5 : Nxe5! 66 84 96 99
e4 e5 Nf3 h6 : Nxe5! 66 84 96 99
e4 e5 Nf3 d5 : exd5 58 60 58 56, Nxe5 26 30 38 42
e4 e5 Nf3 f6 : Nxe5! 70 82 92 97, Bc4 14 9 5 2, d4 8 5 2 1, Nc3 5 3 1 0, d3 3 1 0 0
e4 e5 Nf3 f6 Nxe5 : fxe5 84 76 62 44, Qe7 10 16 32 52
e4 e5 Nf3 f6 Nxe5 Qe7 : Nf3 70 80 90 96, Qh5? 14 10 4 1
e4 e5 Nf3 f6 Nxe5 Qe7 Nf3 : Qxe4 72 80 88 92
e4 e5 Nf3 f6 Nxe5 fxe5 : Qh5! 88 94 99 100
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 : g6 66 60 52 46, Ke7 34 40 48 54
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 g6 : Qxe5! 96 98 100 100
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 g6 Qxe5 : Qe7 54 60 66 70, Ne7 20 18 16 14, Be7 16 14 12 10
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 g6 Qxe5 Qe7 : Qxh8! 80 90 98 100
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 g6 Qxe5 Ne7 : Qxh8! 80 90 98 100
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 g6 Qxe5 Be7 : Qxh8! 80 90 98 100
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 Ke7 : Qxe5! 96 98 100 100
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 Ke7 Qxe5 Kf7 : Bc4! 72 84 94 99
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 Ke7 Qxe5 Kf7 Bc4 : d5 30 44 64 80, Kg6 70 56 36 20
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 Ke7 Qxe5 Kf7 Bc4 d5 : Bxd5! 88 94 98 100
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 Ke7 Qxe5 Kf7 Bc4 Kg6 : Qf5! 64 78 90 98
e4 e5 Nf3 f6 Nxe5 fxe5 Qh5 Ke7 Qxe5 Kf7 Bc4 Kg6 Qf5 Kh6 : d4! 64 80 94 99
e4 e5 Nf3 f6 Bc4 : d6 30 28 24 20, Nc6 34 34 32 30, Bc5 12 10 8 6, Ne7 6 8 12 18
e4 e5 Nf3 f6 d4 : exd4 40 42 44 40, d6 24 26 28 34, Nc6 20 18 14 12
e4 e5 Nf3 Qf6 : Nc3 26 32 40 48, Bc4 28 26 22 18, d4 14 20 26 28
e4 e5 Nf3 d6 : d4 28 40 60 72, Bc4 38 34 26 18, Nc3 14 12 7 5, h3 5 3 .6 .2, d3 6 4 1 .5
e4 e5 Nf3 d6 Bc4 : Bg4 24 20 12 8, Nf6 22 26 32 36, Nc6 22 22 20 18, Be7 8 12 20 26,
    h6 10 8 5 2
e4 e5 Nf3 d6 Bc4 Nf6 : d3 28 32 40 46, Nc3 26 24 18 14, Ng5 20 22 22 22, O-O 12 10 8 6
e4 e5 Nf3 d6 Bc4 Nf6 Ng5 : d5 46 66 90 97, Be6 14 12 4 1
e4 e5 Nf3 d6 Bc4 Nf6 Ng5 d5 : exd5 90 94 97 99
e4 e5 Nf3 d6 Bc4 Nc6 : O-O 26 28 28 26, d4 10 16 28 36, c3 6 10 18 22, Nc3 18 16 10 6, d3 20 16 10 6
e4 e5 Nf3 d6 Bc4 Be7 : O-O 30 32 34 36, d4 12 18 30 40, Nc3 22 18 12 8, d3 20 18 14 10
e4 e5 Nf3 d6 Bc4 h6 : O-O 30 32 32 32, d4 14 20 30 40, Nc3 22 18 12 8, d3 20 16 12 8
e4 e5 Nf3 d6 Bc4 Bg4 : Nc3 26 26 26 26, h3 22 26 32 36, O-O 22 20 18 16, d3 14 12 8 4
e4 e5 Nf3 d6 Bc4 Bg4 Nc3 : Nc6 26 28 30 28, Nf6 26 32 40 48, g6? 8 6 3 1, h6? 10 7 3 1,
    a6? 5 3 1 0
e4 e5 Nf3 d6 Bc4 Bg4 Nc3 g6 : Nxe5! 6 12 34 60
e4 e5 Nf3 d6 Bc4 Bg4 Nc3 h6 : Nxe5! 6 12 34 60
e4 e5 Nf3 d6 Bc4 Bg4 Nc3 a6 : Nxe5! 6 12 34 60
e4 e5 Nf3 d6 Bc4 Bg4 Nc3 g6 Nxe5 : Bxd1? 74 60 34 14, dxe5 20 34 60 84
e4 e5 Nf3 d6 Bc4 Bg4 Nc3 g6 Nxe5 Bxd1 : Bxf7! 96 98 100 100
e4 e5 Nf3 d6 Bc4 Bg4 Nc3 g6 Nxe5 Bxd1 Bxf7 Ke7 : Nd5! 92 96 100 100
e4 e5 Nf3 d6 Bc4 Bg4 Nc3 h6 Nxe5 : Bxd1? 74 60 34 14, dxe5 20 34 60 84
e4 e5 Nf3 d6 Bc4 Bg4 Nc3 h6 Nxe5 Bxd1 : Bxf7! 96 98 100 100
e4 e5 Nf3 d6 Bc4 Bg4 Nc3 h6 Nxe5 Bxd1 Bxf7 Ke7 : Nd5! 92 96 100 100
e4 e5 Nf3 d6 d4 : exd4 34 44 56 60, Nc6 20 16 8 4, Bg4 16 12 6 3, Nf6 6 10 18 24, f6 6 3 .8 .2
e4 e5 Nf3 d6 d4 exd4 : Nxd4 60 70 80 84, Qxd4 24 20 16 14
e4 e5 Nf3 d6 d4 Nc6 : d5 30 30 30 30, dxe5 40 38 34 30, Bb5 8 12 18 22
e4 e5 Nf3 d6 d4 Bg4 : dxe5 50 60 76 88, Be3 8 6 3 1

e4 e5 Nf3 Nf6 : Nxe5 44 48 52 52, Nc3 24 20 18 16, Bc4 10 8 4 3, d3 10 8 5 4, d4 4 8 16 22
e4 e5 Nf3 Nf6 Nxe5 : d6 26 46 84 96, Nxe4? 48 38 11 2.5, Nc6 12 8 3 1, Qe7 6 4 1 .3
e4 e5 Nf3 Nf6 Nxe5 Nxe4 : Qe2! 26 44 76 94, d3 20 18 10 3, Nf3 10 8 3 1, d4 12 10 6 2
e4 e5 Nf3 Nf6 Nxe5 Nxe4 Qe2 : Nf6? 42 28 7 .6, Qe7 28 44 70 88, d5 12 12 14 10
e4 e5 Nf3 Nf6 Nxe5 Nxe4 Qe2 Nf6 : Nc6! 60 78 95 100
e4 e5 Nf3 Nf6 Nxe5 Nxe4 Qe2 Qe7 : Qxe4! 84 92 98 100
e4 e5 Nf3 Nf6 Nxe5 d6 : Nf3 70 80 88 92, Nc4 6 5 5 5, Nxf7? 4 2 1 .6
e4 e5 Nf3 Nf6 Nxe5 d6 Nf3 : Nxe4 84 90 95 97

e4 e5 Nf3 Nc6 : Bc4 50 47 38 31, Bb5 11 17 29 38, d4 9 12 15 16, Nc3 13 12 9 7, c3 2 2 2 2,
    h3 6 2.5 .4 .1, d3 7 4 1.5 1, a3 2 .8 .2 .1
e4 e5 Nf3 Nc6 Bc4 : Bc5 28 34 41 46, Nf6 25 30 36 40, Nd4 9 6 2 .5, h6 12 7.5 2.5 .6,
    d6 12 10 6 4, Be7 2 3 5 6, f6? 2.5 .8 .1 0, a6 3 1.5 .4 .1, Na5? 1.2 .4 0 0
e4 e5 Nf3 Nc6 Bc4 Nd4 : Nxe5? 46 32 14 4, Nxd4 24 38 56 62, c3 8 10 16 20, O-O 10 10 8 8
e4 e5 Nf3 Nc6 Bc4 Nd4 Nxe5 : Qg5! 70 78 88 96
e4 e5 Nf3 Nc6 Bc4 Nd4 Nxe5 Qg5 : Nxf7? 56 48 28 14, Bxf7 16 22 40 60, Nf3 8 10 12 8
e4 e5 Nf3 Nc6 Bc4 Nd4 Nxe5 Qg5 Nxf7 : Qxg2! 88 94 98 100
e4 e5 Nf3 Nc6 Bc4 Nd4 Nxe5 Qg5 Nxf7 Qxg2 : Rf1 80 84 88 90
e4 e5 Nf3 Nc6 Bc4 Nd4 Nxe5 Qg5 Nxf7 Qxg2 Rf1 : Qxe4! 86 92 98 100
e4 e5 Nf3 Nc6 Bc4 Nd4 Nxe5 Qg5 Nxf7 Qxg2 Rf1 Qxe4 : Be2? 70 56 30 14, Qe2 30 44 70 86
e4 e5 Nf3 Nc6 Bc4 Nd4 Nxe5 Qg5 Nxf7 Qxg2 Rf1 Qxe4 Be2 : Nf3! 76 90 98 100
e4 e5 Nf3 Nc6 Bc4 f6 : O-O 34 32 26 20, d4 14 20 34 48, Nc3 18 14 8 5
e4 e5 Nf3 Nc6 Bc4 h6 : O-O 30 32 32 30, d4 12 16 26 36, c3 8 12 18 20, Nc3 18 16 12 8,
    d3 16 12 8 4
e4 e5 Nf3 Nc6 Bc4 d6 : O-O 26 28 28 26, d4 10 16 28 36, c3 6 10 18 22, Nc3 18 16 10 6,
    d3 16 12 8 6, h3 8 5 2 1
e4 e5 Nf3 Nc6 Bc4 Nf6 : Ng5 28 26 21 18, d3 22 30 42 50, O-O 14 13 12 11, Nc3 20 14 7 4,
    d4 3 5 10 13
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 : d5 42 66 91 97, h6? 12 6 .7 .1, Bc5 8 6 4 2, Qe7? 10 6 .9 .1,
    Rg8? 6 3 .2 0, d6? 8 4 .4 0
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 h6 : Nxf7! 62 78 94 99
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 d6 : Nxf7! 58 72 90 98
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 Rg8 : Nxf7! 36 44 50 52, Bxf7 30 34 42 46
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 Qe7 : Bxf7! 48 58 72 84, Nxf7 30 26 18 10
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 Bc5 : Nxf7 50 48 40 32, Bxf7 26 34 48 60
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 d5 : exd5 86 92 96 98
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 d5 exd5 : Nxd5? 54 46 24 10, Na5 14 24 54 74, Nd4 8 10 10 8,
    b5 2 4 6 6
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 d5 exd5 Nxd5 : Nxf7 30 36 46 52, d4 8 12 22 30, Qf3 20 18 10 6
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 d5 exd5 Nxd5 Nxf7 : Kxf7 94 96 98 99
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 d5 exd5 Nxd5 Nxf7 Kxf7 : Qf3 86 92 97 99
e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5 d5 exd5 Nxd5 Nxf7 Kxf7 Qf3 : Ke6 40 50 68 84, Kg8? 24 20 14 8,
    Qf6 20 16 10 4
e4 e5 Nf3 Nc6 Bc4 Nf6 d3 : Bc5 44 50 54 56, Be7 12 16 22 26, h6 12 10 6 4, d6 12 9 5 3,
    d5 6 6 5 4
e4 e5 Nf3 Nc6 Bc4 Nf6 d3 Bc5 : O-O 36 40 44 44, c3 10 18 30 38, Nc3 24 18 8 5, Bg5 8 6 4 2
e4 e5 Nf3 Nc6 Bc4 Bc5 : c3 17 26 38 46, O-O 27 28 26 24, d3 20 19 16 12, Nc3 15 10 5 3,
    b4 1 2 5 7, Ng5? 5 1.6 .1 0, h3 5 3 .6 .2, d4 2 3 3 3
e4 e5 Nf3 Nc6 Bc4 Bc5 Ng5 : Qxg5! 84 93 99 100
e4 e5 Nf3 Nc6 Bc4 Bc5 c3 : Nf6 44 58 76 84, d6 20 18 14 10, Qe7 3 3 3 2, h6 8 6 2 1
e4 e5 Nf3 Nc6 Bc4 Bc5 c3 Nf6 : d3 34 40 48 56, d4 30 34 38 38, O-O 14 12 8 5, Ng5 6 3 .5 .1
e4 e5 Nf3 Nc6 Bc4 Bc5 c3 Nf6 d3 : O-O 34 36 38 40, d6 32 34 36 36, h6 8 6 3 2, a6 4 6 9 12
e4 e5 Nf3 Nc6 Bc4 Bc5 c3 Nf6 d4 : exd4 80 88 95 98, Bd6? 4 2 .3 0
e4 e5 Nf3 Nc6 Bc4 Bc5 c3 Nf6 d4 exd4 : cxd4 66 68 70 72, e5 18 20 24 26
e4 e5 Nf3 Nc6 Bc4 Bc5 c3 Nf6 d4 exd4 cxd4 : Bb4 40 58 86 96, Bb6 30 24 9 3
e4 e5 Nf3 Nc6 Bc4 Bc5 O-O : Nf6 44 54 62 66, d6 26 24 22 20, h6 8 5 2 .6
e4 e5 Nf3 Nc6 Bc4 Bc5 d3 : Nf6 42 52 60 64, d6 26 24 22 20, h6 9 6 2 1
e4 e5 Nf3 Nc6 Bb5 : a6 30 40 54 60, Nf6 18 22 26 28, d6 16 12 7 4, Bc5 12 10 6 4, Nd4 4 4 3 2
e4 e5 Nf3 Nc6 Bb5 a6 : Ba4 44 58 76 84, Bxc6 42 34 20 14, Bc4 8 4 1 .2
e4 e5 Nf3 Nc6 Bb5 a6 Bxc6 : dxc6 60 74 92 97, bxc6 36 24 7 3
e4 e5 Nf3 Nc6 Bb5 a6 Ba4 : Nf6 40 52 72 82, b5 38 30 14 8
e4 e5 Nf3 Nc6 d4 : exd4 78 86 94 97, d6 6 5 2 1
e4 e5 Nf3 Nc6 d4 exd4 : Nxd4 62 66 70 72, Bc4 12 16 20 20, c3 4 6 6 6
e4 e5 Nf3 Nc6 d4 exd4 Nxd4 : Nxd4 34 24 8 3, Nf6 22 30 42 46, Bc5 18 26 38 42, Qh4 2 2 3 3
e4 e5 Nf3 Nc6 Nc3 : Nf6 48 56 66 72, Bc5 20 18 14 10, d6 14 10 6 4
e4 e5 d4 : exd4 78 86 94 97, d6 6 4 2 1, Nc6 6 4 1 .5
e4 e5 d4 exd4 : Qxd4 70 62 50 44, c3 8 12 20 24, Nf3 10 14 18 20
e4 e5 d4 exd4 Qxd4 : Nc6 72 86 97 99
e4 e5 d4 exd4 Qxd4 Nc6 : Qe3 34 40 46 50, Qd1 26 20 12 8, Qa4 20 24 30 34, Qd3 12 12 10 8
e4 e5 f4 : exf4 52 54 56 56, d6 14 10 6 4, Nc6 14 12 10 8, d5 4 7 14 18, f6? 3 1 .1 0
e4 e5 f4 exf4 : Nf3 54 66 80 86, Bc4 22 18 14 10
e4 e5 Nc3 : Nf6 36 48 62 70, Nc6 34 32 28 24, Bc5 12 10 6 4

e4 e6 : d4 38 58 78 86, Nf3 26 18 9 6, Bc4 10 5 1 .2, Nc3 10 8 4 3, d3 2 3 4 4
e4 e6 d4 : d5 62 84 96 98, c5 3 3 2 1, Nc6 8 3 .4 0
e4 e6 d4 d5 : e5 34 34 30 28, exd5 28 22 15 11, Nc3 18 24 34 40, Nd2 4 8 16 19
e4 e6 d4 d5 e5 : c5 30 60 91 96, Nc6 22 12 2 .5, Nd7 6 6 3 2, Bb4 10 5 1 .2
e4 e6 d4 d5 e5 c5 : c3 48 64 82 88, Nf3 20 16 12 10, dxc5 16 8 2 1
e4 e6 d4 d5 exd5 : exd5 82 90 96 98, Qxd5 14 7 2 1
e4 c6 : d4 38 58 77 84, Nf3 24 16 8 6, Nc3 14 11 8 6, Bc4 9 4 .8 .1, c4 1 2 3 3
e4 c6 d4 : d5 70 88 97 99
e4 c6 d4 d5 : e5 32 36 40 42, exd5 28 26 22 20, Nc3 20 22 24 26, f3 2 3 4 4
e4 c6 d4 d5 Nc3 : dxe4 66 78 90 96
e4 c6 d4 d5 Nc3 dxe4 : Nxe4 88 94 98 99
e4 c6 d4 d5 Nc3 dxe4 Nxe4 : Bf5 40 46 52 56, Nd7 14 16 18 20, Nf6 22 20 20 18
e4 c6 d4 d5 Nc3 dxe4 Nxe4 Nd7 : Qe2 16 12 7 4, Nf3 44 48 50 52, Bc4 14 14 16 18
e4 c6 d4 d5 Nc3 dxe4 Nxe4 Nd7 Qe2 : Ngf6? 56 40 12 2
e4 c6 d4 d5 Nc3 dxe4 Nxe4 Nd7 Qe2 Ngf6 : Nd6! 78 90 99 100
e4 c6 d4 d5 e5 : Bf5 46 56 64 68, c5 6 10 18 22
e4 c6 d4 d5 exd5 : cxd5 88 94 98 99
e4 d5 : exd5 74 87 93 95, e5 13 6 3 2, Nc3 5 3 2 1
e4 d5 exd5 : Qxd5 78 71 62 57, Nf6 8 18 32 40, c6 3 3 3 2
e4 d5 exd5 Qxd5 : Nc3 60 80 93 96, d4 14 8 3 2, Nf3 8 5 2 1
e4 d5 exd5 Qxd5 Nc3 : Qa5 36 48 56 58, Qd8 20 19 17 14, Qd6 9 13 20 25, Qe5? 16 7 1.2 .2,
    Qe6? 7 3 .4 .1
e4 d5 exd5 Qxd5 Nc3 Qe5 : Be2 52 60 68 72, Qe2 18 14 10 8
e4 d5 exd5 Qxd5 Nc3 Qa5 : d4 44 54 64 68, Nf3 24 24 22 20, b4? 5 2.5 .5 .1
e4 c5 : Nf3 46 60 72 76, Bc4 22 15 6 3, d4 6 6 5 5, Nc3 10 9 9 9, c3 2 4 6 6
e4 c5 Nf3 : d6 28 30 33 34, Nc6 38 36 32 30, e6 14 18 20 22, g6 4 4 5 5
e4 c5 Nf3 d6 : d4 42 58 72 78, Bc4 22 14 7 4, Bb5 6 8 12 13
e4 c5 Nf3 d6 d4 : cxd4 82 90 97 99
e4 c5 Nf3 d6 d4 cxd4 : Nxd4 76 88 96 98, Qxd4 16 8 3 2
e4 c5 Nf3 d6 d4 cxd4 Nxd4 : Nf6 62 78 92 97
e4 c5 Nf3 d6 d4 cxd4 Nxd4 Nf6 : Nc3 62 80 94 98, f3 6 4 3 2
e4 c5 Nf3 d6 d4 cxd4 Nxd4 Nf6 Nc3 : a6 30 36 44 48, g6 18 22 26 28, Nc6 20 18 16 14,
    e5 12 6 2 1
e4 c5 Nf3 Nc6 : d4 42 56 68 72, Bc4 22 14 6 3, Bb5 12 16 20 22
e4 c5 Nf3 Nc6 d4 : cxd4 84 92 98 99
e4 c5 Nf3 Nc6 d4 cxd4 : Nxd4 86 94 98 99
e4 c5 Bc4 : e6 24 36 56 68, Nc6 36 32 24 18, d6 18 14 10 8
e4 b6 : d4 46 60 74 80, Nf3 24 18 12 10
e4 d6 : d4 46 62 78 84, Nf3 24 18 12 10
e4 d6 d4 : Nf6 40 58 78 86

d4 : d5 58 52 45 40, Nf6 13 23 35 42, e6 6 6 6 5, f5 2 3 4 4, e5? 4 3 1.2 .3, c5 2 2 2 2,
    d6 2 3 3 2, g6 1 1.5 2 2
d4 d5 : c4 18 34 52 60, Bf4 34 29 20 16, Nf3 20 18 16 14, Nc3 11 6 4 3, e3 9 5 2 2,
    e4 2 2 1 .8
d4 d5 c4 : e6 32 38 42 42, c6 14 24 32 36, dxc4 28 21 14 14, Nf6 12 8 3 1, e5 1 2 2 1.5
d4 d5 c4 dxc4 : e3 36 42 44 44, e4 22 20 20 22, Nf3 18 22 28 30, Qa4 8 5 2 1
d4 d5 c4 dxc4 e3 : b5? 38 24 6 .8, Nf6 24 36 56 66, e6 12 14 16 16
d4 d5 c4 dxc4 e3 b5 : a4! 26 46 78 94
d4 d5 c4 dxc4 e3 b5 a4 : c6? 58 54 40 24, a6? 12 8 4 1, bxa4 14 18 28 40
d4 d5 c4 dxc4 e3 b5 a4 c6 : axb5! 84 90 97 99
d4 d5 c4 dxc4 e3 b5 a4 c6 axb5 : cxb5? 88 80 56 30
d4 d5 c4 dxc4 e3 b5 a4 c6 axb5 cxb5 : Qf3! 36 56 86 98
d4 d5 c4 e6 : Nc3 44 52 62 66, Nf3 30 30 30 30
d4 d5 c4 e6 Nc3 : Nf6 58 68 76 80, c6 8 10 12 12, Bb4 12 8 3 1
d4 d5 c4 e6 Nc3 Nf6 : Bg5 34 38 40 38, cxd5 14 18 24 28, Nf3 28 28 26 26
d4 d5 c4 e6 Nc3 Nf6 Bg5 : Be7 42 50 60 66, Nbd7 22 24 26 26
d4 d5 c4 e6 Nc3 Nf6 Bg5 Nbd7 : cxd5 36 34 28 22, e3 28 34 44 52
d4 d5 c4 e6 Nc3 Nf6 Bg5 Nbd7 cxd5 : exd5 90 94 98 99
d4 d5 c4 e6 Nc3 Nf6 Bg5 Nbd7 cxd5 exd5 : Nxd5? 38 24 6 .6, e3 30 42 64 76
d4 d5 c4 e6 Nc3 Nf6 Bg5 Nbd7 cxd5 exd5 Nxd5 : Nxd5! 48 70 93 99
d4 d5 c4 e6 Nc3 Nf6 Bg5 Nbd7 cxd5 exd5 Nxd5 Nxd5 Bxd8 : Bb4! 92 97 100 100
d4 d5 c4 c6 : Nf3 34 40 48 52, Nc3 34 34 32 30, cxd5 12 12 12 12
d4 d5 Bf4 : Nf6 40 48 54 56, Nc6 22 14 6 3, e6 14 14 12 10, c5 4 8 14 18, Bf5 8 8 8 8
d4 d5 Bf4 Nf6 : e3 52 58 64 66, Nf3 30 30 28 28
d4 Nf6 : c4 26 42 58 66, Bf4 30 24 17 13, Nf3 22 20 16 14, Nc3 8 4 2 2, Bg5 2 3 4 4
d4 Nf6 c4 : e6 34 40 44 46, g6 26 30 34 36, c5 4 5 6 6, d5 14 8 2 .8
d4 f5 : c4 24 34 44 48, Nf3 24 24 22 22, Bf4 18 14 8 5, g3 2 4 10 14
d4 e5 : dxe5 66 80 91 94, e3 8 5 2 1, d5 10 7 4 3
d4 e5 dxe5 : Nc6 80 82 84 84, d6 12 10 8 6
d4 e5 dxe5 Nc6 : Nf3 58 68 78 82, f4 12 8 4 2, Bf4 12 10 8 6
d4 e5 dxe5 Nc6 Nf3 : Qe7 72 76 80 80
d4 e5 dxe5 Nc6 Nf3 Qe7 : Bf4 46 48 46 40, Qd5 12 12 12 10, Nc3 18 20 26 34
d4 e5 dxe5 Nc6 Nf3 Qe7 Bf4 : Qb4 86 92 96 98
d4 e5 dxe5 Nc6 Nf3 Qe7 Bf4 Qb4 : Bd2 56 64 74 80, Nc3 14 12 10 10, c3 10 6 3 1
d4 e5 dxe5 Nc6 Nf3 Qe7 Bf4 Qb4 Bd2 : Qxb2 94 97 99 100
d4 e5 dxe5 Nc6 Nf3 Qe7 Bf4 Qb4 Bd2 Qxb2 : Bc3? 52 40 16 3, Nc3 34 50 80 96
d4 e5 dxe5 Nc6 Nf3 Qe7 Bf4 Qb4 Bd2 Qxb2 Bc3 : Bb4! 70 84 97 100
d4 e5 dxe5 Nc6 Nf3 Qe7 Bf4 Qb4 Bd2 Qxb2 Bc3 Bb4 : Qd2 72 78 84 88
d4 e5 dxe5 Nc6 Nf3 Qe7 Bf4 Qb4 Bd2 Qxb2 Bc3 Bb4 Qd2 : Bxc3! 90 95 99 100
d4 e5 dxe5 Nc6 Nf3 Qe7 Bf4 Qb4 Bd2 Qxb2 Bc3 Bb4 Qd2 Bxc3 Qxc3 : Qc1! 84 94 100 100

Nf3 : d5 44 46 44 40, Nf6 22 28 36 40, e6 6 6 5 4, c5 4 6 9 10, Nc6 12 5 1.5 .6
c4 : e5 34 36 36 36, Nf6 22 26 30 30, c5 6 8 12 14, e6 10 10 8 8
f4 : d5 44 48 50 50, e5 14 12 10 8, Nf6 12 16 20 24, e6 10 8 5 4
f4 e6 : Nf3 56 70 84 90, g4? 4 1 0 0
f4 e6 g4 : Qh4! 80 94 100 100
f3 : e5 56 56 56 56, d5 26 28 30 32
f3 e5 : e4 32 36 40 40, g4? 14 8 2 0, e3 12 10 8 8
f3 e5 g4 : Qh4! 68 88 100 100
"""
