// Prints the features of a GeoParquet file, a line each, as hyparquet reads
// them. Usage: node read.mjs MODULES FILE
import { pathToFileURL } from 'node:url'

const [modules, file] = process.argv.slice(2)
const load = (name) => import(pathToFileURL(`${modules}/node_modules/${name}/src/${name === 'hyparquet' ? 'node' : 'index'}.js`))
const { asyncBufferFromFile, parquetReadObjects } = await load('hyparquet')
const { compressors } = await load('hyparquet-compressors')
const rows = await parquetReadObjects({ file: await asyncBufferFromFile(file), compressors })
for (const row of rows) {
  console.log(JSON.stringify(Object.values(row), (_, v) => typeof v === 'bigint' ? Number(v) : v ?? null))
}
