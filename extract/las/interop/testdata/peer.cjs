// Decodes LAZ and COPC files with decoders that are not ours, and tells what
// came out. Usage: node peer.cjs MODULES COMMAND FILE...
//
//   laz    FILE...       a line a file: number of points, SHA-256 of all records
//   copc   FILE...       a line a node: key, number of points, SHA-256 of its
//                        records, number of points outside its cube
//   time   RUNS FILE...  a line a file: millions of points in a second of processor
//                        time, the best of the runs
//
// A file that cannot be read gives a line that starts with "error".
'use strict'
const { createHash } = require('crypto')
const { readFileSync } = require('fs')
const { createRequire } = require('module')
const [modules, command, ...rest] = process.argv.slice(2)
const load = createRequire(modules + '/')
const { createLazPerf } = load('laz-perf')

const sha = (b) => createHash('sha256').update(b).digest('hex')

// eachPoint opens a file and calls use with the bytes of every record.
function eachPoint(perf, file, use) {
  const data = perf._malloc(file.byteLength)
  const size = file.readUInt16LE(105)
  const record = perf._malloc(size)
  const reader = new perf.LASZip()
  try {
    perf.HEAPU8.set(file, data)
    reader.open(data, file.byteLength)
    const n = reader.getCount()
    for (let i = 0; i < n; i++) {
      reader.getPoint(record)
      if (use) use(Buffer.from(perf.HEAPU8.buffer, record, size))
    }
    return n
  } finally {
    reader.delete()
    perf._free(data)
    perf._free(record)
  }
}

function laz(perf, path) {
  const hash = createHash('sha256')
  const n = eachPoint(perf, readFileSync(path), (b) => hash.update(b))
  return `${n} ${hash.digest('hex')}`
}

function time(perf, path, runs) {
  const file = readFileSync(path)
  let best = Infinity
  let n = 0
  for (let i = 0; i < runs; i++) {
    const from = process.cpuUsage()
    n = eachPoint(perf, file, null)
    const used = process.cpuUsage(from)
    best = Math.min(best, (used.user + used.system) / 1e6)
  }
  return (n / best / 1e6).toFixed(4)
}

async function copc(perf, path) {
  const { Copc } = load('copc')
  const file = await Copc.create(path)
  const { header, info } = file
  const lines = []
  const pages = [info.rootHierarchyPage]
  while (pages.length > 0) {
    const page = await Copc.loadHierarchyPage(path, pages.shift())
    for (const key of Object.keys(page.pages)) pages.push(page.pages[key])
    for (const key of Object.keys(page.nodes)) {
      const node = page.nodes[key]
      if (!node || node.pointCount === 0) continue
      const compressed = await Copc.loadCompressedPointDataBuffer(path, node)
      const data = Buffer.from(
        await Copc.loadPointDataBuffer(path, header, node, perf),
      )
      if (compressed.byteLength !== node.pointDataLength) throw new Error('short node')
      lines.push(`${key} ${node.pointCount} ${sha(data)} ${outside(header, info, key, data)}`)
    }
  }
  return lines.join('\n')
}

// outside counts the points that are not in a node's cube.
function outside(header, info, key, data) {
  const [level, ...place] = key.split('-').map(Number)
  const side = (info.cube[3] - info.cube[0]) / 2 ** level
  let count = 0
  for (let at = 0; at < data.length; at += header.pointDataRecordLength) {
    const out = place.some((cell, axis) => {
      const v = data.readInt32LE(at + 4 * axis) * header.scale[axis] + header.offset[axis]
      const low = info.cube[axis] + cell * side
      const slack = 1e-9 * (1 + Math.abs(v))
      return v < low - slack || v > low + side + slack
    })
    if (out) count++
  }
  return count
}

async function main() {
  const perf = await createLazPerf()
  const runs = command === 'time' ? Number(rest.shift()) : 0
  for (const path of rest) {
    try {
      if (command === 'laz') console.log(laz(perf, path))
      if (command === 'time') console.log(time(perf, path, runs))
      if (command === 'copc') console.log(await copc(perf, path))
    } catch (e) {
      console.log(`error ${path}: ${typeof e === 'number' ? perf.getExceptionMessage?.(e) ?? e : e.stack}`)
    }
  }
}

main()
