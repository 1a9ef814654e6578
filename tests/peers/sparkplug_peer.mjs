// A Sparkplug host of other people's making: Debian's mosquitto_sub and mosquitto_pub carry the messages, npm's sparkplug-payload reads and writes them.
//
//   node sparkplug_peer.mjs listen PORT [mosquitto_sub options]    prints READY, then one JSON object a message
//   node sparkplug_peer.mjs ask PORT TOPIC METRIC VALUE            publishes one Boolean metric as a command
//
// Data carries neither names nor types (Sparkplug 3.0.0, 6.4.7): both are put in from the birth certificates before the library decodes it.
import { spawn, spawnSync } from 'node:child_process';
import { createInterface } from 'node:readline';
import { createRequire } from 'node:module';

const require = createRequire(import.meta.url);
const sparkplug = require('sparkplug-payload').get('spBv1.0');
const { Payload } = require('sparkplug-payload/lib/sparkplugPayloadProto').org.eclipse.tahu.protobuf;

const [mode, port, ...rest] = process.argv.slice(2);
const connection = ['-h', 'localhost', '-p', port, '-V', 'mqttv5'];

if (mode === 'ask') {
  const [topic, name, value] = rest;
  const payload = sparkplug.encodePayload({ timestamp: 1, metrics: [{ name, type: 'Boolean', value: value === 'true', timestamp: 1 }] });
  const { status, stderr } = spawnSync('mosquitto_pub', [...connection, '-t', topic, '-s'], { input: payload });
  process.stderr.write(stderr);
  process.exit(status);
}

const births = new Map();

function decode(bytes) {
  const message = Payload.decode(bytes);
  for (const metric of message.metrics) {
    const alias = metric.alias === null || metric.alias === undefined ? undefined : metric.alias.toString();
    if (metric.datatype) {
      births.set(alias, { name: metric.name, datatype: metric.datatype });
    } else {
      Object.assign(metric, births.get(alias));
    }
  }
  return sparkplug.decodePayload(Payload.encode(message).finish());
}

const plain = (_, value) => typeof value === 'bigint' ? Number(value) : value !== null && typeof value === 'object' && 'toNumber' in value ? value.toNumber() : value;

// Line by line: it would else keep what it says until there is much of it.
const subscriber = spawn('stdbuf', ['-oL', 'mosquitto_sub', ...connection, '-d', '-q', '1', '-t', 'spBv1.0/#', '-t', 'washbridge/#', '-F', '{"topic":"%t","retain":%r,"qos":%q,"hex":"%x"}', ...rest], { stdio: ['ignore', 'pipe', 'inherit'] });
process.stdin.on('end', () => subscriber.kill()).resume();
subscriber.on('exit', code => process.exit(code ?? 1));
createInterface({ input: subscriber.stdout }).on('line', line => {
  if (line.startsWith('Subscribed')) {
    console.log('READY');
  } else if (line.startsWith('{')) {
    const { hex, ...message } = JSON.parse(line);
    const bytes = Buffer.from(hex, 'hex');
    const isText = message.topic.startsWith('washbridge/') || message.topic.startsWith('spBv1.0/STATE/');
    const content = isText ? { json: JSON.parse(bytes.toString()) } : decode(bytes);
    console.log(JSON.stringify({ ...message, retain: message.retain === 1, ...content }, plain));
  }
});
