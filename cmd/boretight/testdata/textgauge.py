"""A gauge that prints numbers, and shares nothing with the program that reads them.

It makes a serial port, waits until somebody has opened it, and plays one hold in real
time: rest, draw, hold, vent, rest. The air is at constant temperature and leaks by the
laminar law, in closed form. Lines leave in lumps, as a USB adapter hands them over.
"""
import argparse, math, os, random, select, sys, time, tty

args = argparse.ArgumentParser()
args.add_argument("--link", required=True)
args.add_argument("--rate", type=float, default=100)
args.add_argument("--lump", type=float, default=0.016, help="s")
args.add_argument("--style", choices=["vacuum", "absolute"], default="vacuum")
args.add_argument("--seed", type=int, default=1)
args.add_argument("--ambient", type=float, default=98300)
args.add_argument("--k", type=float, default=0.05, help="C/V in 1/s")
args = args.parse_args()

ZERO, START = 13.6, 2750.0
REST, DRAW, HOLD, AFTER = 4.0, 0.6, 8.0, 4.0
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


def line(n):
    below = delta(n / args.rate) + chance.gauss(0, 1.0)
    if args.style == "absolute":
        return b"T= 22.5 C P= %.4f kPa\r\n" % ((args.ambient - below) / 1e3)
    return b"22,5;%+09.4f;kPa\r" % ((below - ZERO) / 1e3)


def write(data):
    """Write what the port takes now, and return the rest."""
    try:
        return data[os.write(master, data):]
    except BlockingIOError:
        return data


master, slave = os.openpty()
tty.setraw(slave)
os.symlink(os.ttyname(slave), args.link)
os.set_blocking(master, False)
print("ready", flush=True)
began, n, total, pending = time.monotonic(), 0, int((REST + DRAW + HOLD + AFTER) * args.rate), b""
opened = False
while True:  # until the other side has had enough and closes our standard input
    now = time.monotonic() - began
    due = (math.floor(now / args.lump) + 1) * args.lump
    waiting, ready, _ = select.select([sys.stdin], [], [], due - now)
    if waiting:
        break
    if not opened:
        # The reader's end is open when what we send is taken away.
        write(b"# warming up\r\n")
        time.sleep(0.2)
        opened = not select.select([slave], [], [], 0)[0]
        began, n = time.monotonic(), 0
        continue
    # Only whole lumps: what was made after the last tick waits.
    made = min(total, int(due * args.rate))
    pending += b"".join(line(i) for i in range(n, made))
    n = max(n, made)
    if pending:
        pending = write(pending)
os.unlink(args.link)
