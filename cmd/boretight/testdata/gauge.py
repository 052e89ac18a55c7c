"""A gauge that shares nothing with the program it is read by.

It makes a serial port, waits until it is asked who it is, and plays one hold in real
time: rest, draw, hold, vent, rest. The air is at constant temperature and leaks by the
laminar law, in closed form. Standard output gets one JSON object at the end: which
readings never left in one piece.
"""
import argparse, binascii, json, math, os, random, select, sys, time, tty

args = argparse.ArgumentParser()
args.add_argument("--link", required=True)
args.add_argument("--rate", type=float, default=100)
args.add_argument("--damage", type=float, default=0)
args.add_argument("--seed", type=int, default=1)
args.add_argument("--ambient", type=float, default=98300)
args.add_argument("--absolute", action="store_true", help="tell the pressure in the bore itself")
args.add_argument("--k", type=float, default=0.05, help="C/V in 1/s")
args = args.parse_args()

ZERO, START = 13.6, 2750.0
REST, DRAW, HOLD, AFTER = 2.5, 0.6, 7.0, 4.0
chance = random.Random(args.seed)


def delta(t):
    if t < REST:
        return 0.0
    if t < REST + DRAW:
        return START * (t - REST) / DRAW
    if t < REST + DRAW + HOLD:
        e = math.exp(-args.k * (t - REST - DRAW))
        return 2 * args.ambient * START * e / (2 * args.ambient - START + START * e)
    left = delta(REST + DRAW + HOLD - 1e-9)
    return left * math.exp(-(t - REST - DRAW - HOLD) / 0.02)


def frame(body):
    return b"$%s*%04X\r\n" % (body, binascii.crc_hqx(body, 0xFFFF))


level = args.ambient if args.absolute else ZERO
identity = frame(b"BTID,1,PY-1,%s,0.1,%d" % (b"A,80000,110000" if args.absolute else b"G,-7500,7500", args.rate))


def reading(n):
    t = n / args.rate
    pressure = level - delta(t) + chance.gauss(0, 1.0)
    return frame(b"BTRD,%d,%d,%.1f,22.50,00" % (n, round(t * 1e6) % 2**32, pressure))


destroyed, flipped, doubled = [], [], 0


def spoil(n, line):
    """Damages, cuts, doubles a line, or puts noise before it, with equal chances."""
    global doubled
    if chance.random() >= args.damage:
        return line
    kind = chance.randrange(4)
    if kind == 0:
        destroyed.append(n)
        flipped.append(n)
        at = chance.randrange(1, len(line) - 8)
        return line[:at] + bytes([line[at] ^ 1 << chance.randrange(3)]) + line[at + 1:]
    if kind == 1:
        destroyed.append(n)
        return line[:chance.randrange(1, len(line) - 6)]
    if kind == 2:
        doubled += 1
        return line + line
    return bytes(chance.choice(range(128, 256)) for _ in range(chance.randrange(1, 30))) + line


master, slave = os.openpty()
tty.setraw(slave)
os.symlink(os.ttyname(slave), args.link)
print("ready", flush=True)
while b"?" not in os.read(master, 100):
    pass
os.write(master, identity)
os.set_blocking(master, False)
began, n, total, pending = time.monotonic(), 0, int((REST + DRAW + HOLD + AFTER) * args.rate), b""
while True:  # until the other side has had enough and closes our standard input
    waiting, ready, _ = select.select([sys.stdin], [master] if pending else [], [], 0.004)
    if waiting:
        break
    if ready:
        pending = pending[os.write(master, pending):]
    due = min(total, int((time.monotonic() - began) * args.rate))
    pending += b"".join(spoil(i, reading(i)) for i in range(n, due))
    n = max(n, due)
print(json.dumps({"destroyed": destroyed, "flipped": flipped, "doubled": doubled}), flush=True)
os.unlink(args.link)
