"""shelf_scale.py PROGRAM SHELF PROOF OUT.md OUT.svg ARGUMENTS: times `screen` on the first 10, 30, 100 ... lasts of SHELF
(tests/shelf_files.cpp made it) and writes the tables and the plot of reports/shelf.md. Started by shelf_scale.sh."""
import json
import math
import os
import resource
import shutil
import subprocess
import sys

program, shelf, proof, out_md, out_svg, arguments = sys.argv[1:7]
names = sorted(n for n in os.listdir(shelf + '/lasts') if n.endswith('.stl'))
sizes = [n for n in (10, 30, 100, 300, 1000) if n < len(names)] + [len(names)]


def run(folder, *more):
    """Seconds by the clock, seconds of the processor, and the most memory, of one screening; and its rows."""
    output = folder + '/out'
    shutil.rmtree(output, ignore_errors=True)
    command = [program, 'screen', shelf + '/client.ply', '--shelf', folder + '/lasts', '--quiet', '-o', output, *more]
    code = ('import os, resource, subprocess, sys, time\n'
            't = time.monotonic()\n'
            's = subprocess.call(sys.argv[1:], stdout=subprocess.DEVNULL)\n'
            'r = resource.getrusage(resource.RUSAGE_CHILDREN)\n'
            'print(s, time.monotonic() - t, r.ru_utime + r.ru_stime, r.ru_maxrss / 1024)\n')
    status, clock, processor, memory = subprocess.check_output([sys.executable, '-c', code, *command], text=True).split()
    if status not in ('0', '4'):
        sys.exit(f'screen of {folder} ended with status {status}')
    rows = json.load(open(output + '/shelf.json'))['lasts']
    return float(clock), float(processor), float(memory), rows


table = []
for size in sizes:
    folder = f'{shelf}/of{size}'
    os.makedirs(folder + '/lasts')
    for name in names[:size]:
        os.link(f'{shelf}/lasts/{name}', f'{folder}/lasts/{name}')
    first = run(folder)
    again = run(folder)
    every = run(folder, '--all')
    judged = sum(r['fate'] in ('judged', 'unusable') for r in again[3])
    index = os.path.getsize(folder + '/lasts/lastroom-index.sqlite') / 1e6
    table.append((size, judged, first, again, every, index))
    shutil.rmtree(folder)


def per_last(run_of, size):
    return 1000 * run_of[1] / size


def plot():
    """Processor time per last over the shelf's size, both logarithmic; and memory in words below."""
    width, height, left, right, bottom, top = 670, 360, 60, 140, 50, 20
    low_y, high_y = 1.0, 1000.0
    x = lambda n: left + (width - left - right) * (math.log10(n) - 1) / (math.log10(max(sizes[-1], 100)) - 1)
    y = lambda v: height - bottom - (height - bottom - top) * (math.log10(max(v, low_y)) - math.log10(low_y)) / (math.log10(high_y) - math.log10(low_y))
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="system-ui, sans-serif" font-size="13" fill="#1d2321">',
             f'<rect width="{width}" height="{height}" fill="#fff"/>']
    for v in (1, 10, 100, 1000):
        parts.append(f'<path d="M{left} {y(v):.1f}H{width - right}" stroke="#cfd3ce"/><text x="{left - 8}" y="{y(v) + 4:.1f}" text-anchor="end">{v}</text>')
    for n in sizes:
        parts.append(f'<text x="{x(n):.1f}" y="{height - bottom + 20}" text-anchor="middle">{n}</text>')
    for k, (label, colour, dash) in enumerate((('first time', '#8a2b12', ''), ('with its index', '#14534a', ''), ('every last in full', '#565f5b', '5 4'))):
        points = [(x(row[0]), y(per_last(row[2 + k], row[0]))) for row in table]
        line = ' '.join(f'{a:.1f},{b:.1f}' for a, b in points)
        parts.append(f'<polyline points="{line}" fill="none" stroke="{colour}" stroke-width="2" stroke-dasharray="{dash}"/>')
        parts += [f'<circle cx="{a:.1f}" cy="{b:.1f}" r="3.5" fill="{colour}"/>' for a, b in points]
        parts.append(f'<text x="{points[-1][0] + 8:.1f}" y="{points[-1][1] + 4:.1f}" fill="{colour}">{label}</text>')
    parts.append(f'<text x="{left}" y="{top - 6}">processor time per last, ms</text><text x="{width - right}" y="{height - 8}" text-anchor="end">lasts on the shelf</text></svg>')
    return '\n'.join(parts) + '\n'


proof_text = open(proof).read().strip()
lines = ['# A shelf of lasts', '',
         f'Printed by `bash tests/shelf_scale.sh {arguments}`'.rstrip() + f' on a machine with {os.cpu_count()} cores. Never edit by hand.', '',
         '## The sieve against the full check of every last', '',
         'Shelves of our own making, each with its own client; lost would be a last whose full check is better than its measures',
         'foretold. The best five must be those of the full check.', '', proof_text, '',
         '## From a few lasts to many', '',
         'The first lasts of one made shelf (sizes, widths, four toe shapes, heels of 10 to 55 mm), coarse: edges of 5 mm, some',
         '8,000 triangles a last. First time: every last is read and prepared. Then with its index; then with every last checked',
         'in full (`--all`). All write five full reports. Processor time, as the clock depends on what else the machine does.', '',
         '| lasts | checked in full | first time, s | with its index, s | ms per last | every last in full, s | most memory, MB | index, MB |',
         '| --- | --- | --- | --- | --- | --- | --- | --- |']
for size, judged, first, again, every, index in table:
    lines.append(f'| {size} | {judged} | {first[1]:.1f} | {again[1]:.1f} | {per_last(again, size):.0f} | {every[1]:.1f} | {max(first[2], again[2]):.0f} | {index:.0f} |')
lines += ['', '![Processor time per last over the number of lasts](shelf.svg)', '']
open(out_md, 'w').write('\n'.join(lines))
open(out_svg, 'w').write(plot())
