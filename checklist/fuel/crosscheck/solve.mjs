// Solves every .inp of a folder with the EPANET engine: node solve.mjs FOLDER
import { Project, Workspace, NodeProperty, LinkProperty, CountType } from 'epanet-js';
import fs from 'fs';
import path from 'path';

const folder = process.argv[2];
const workspace = new Workspace();
if (workspace.loadModule) await workspace.loadModule();
const out = {};
for (const file of fs.readdirSync(folder).filter((f) => f.endsWith('.inp')).sort()) {
  const project = new Project(workspace);
  workspace.writeFile(file, fs.readFileSync(path.join(folder, file)));
  const result = { nodes: {}, links: {}, error: '' };
  try {
    project.open(file, file + '.rpt', file + '.out');
    try { project.solveH(); } catch (e) { result.error = String(e); }
    const nodes = project.getCount(CountType.NodeCount), links = project.getCount(CountType.LinkCount);
    for (let i = 1; i <= nodes; i++) result.nodes[project.getNodeId(i)] = project.getNodeValue(i, NodeProperty.Head);
    for (let i = 1; i <= links; i++) result.links[project.getLinkId(i)] = project.getLinkValue(i, LinkProperty.Flow);
    project.close();
  } catch (e) { result.error = result.error || String(e); }
  out[file.replace('.inp', '')] = result;
}
process.stdout.write(JSON.stringify({ version: workspace.version ?? 0, networks: out }));
