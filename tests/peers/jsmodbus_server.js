// A jsmodbus server on a free loopback port: registers hold their address, odd bits are set, 2,000 of each.
// Prints "READY <port>". Ends when its standard input does.
"use strict";
const net = require("net");
const jsmodbus = require("jsmodbus");

const COUNT = 2000;
const registers = Buffer.alloc(2 * COUNT);
for (let i = 0; i < COUNT; i++) {
    registers.writeUInt16BE(i, 2 * i);
}

const bits = Buffer.alloc(COUNT / 8, 0xaa);
const listener = new net.Server();
new jsmodbus.server.TCP(listener, { coils: bits, discrete: bits, holding: registers, input: registers });
listener.listen(0, "127.0.0.1", () => console.log(`READY ${listener.address().port}`));

process.stdin.resume().on("end", () => process.exit(0));
