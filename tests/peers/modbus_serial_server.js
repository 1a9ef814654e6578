// A modbus-serial server on a free loopback port, for unit 1 only: registers hold their address, odd bits are set.
// Prints "READY <port>". Ends when its standard input does.
"use strict";
const net = require("net");
const { ServerTCP } = require("modbus-serial");

// This library takes port 0 for 502, so a free port is found first.
const probe = net.createServer().listen(0, "127.0.0.1", () => {
    const { port } = probe.address();
    probe.close(() => {
        const vector = {
            getHoldingRegister: address => address,
            getInputRegister: address => address,
            getCoil: address => address % 2 === 1,
            getDiscreteInput: address => address % 2 === 1,
        };
        const server = new ServerTCP(vector, { host: "127.0.0.1", port, unitID: 1 });
        server.on("initialized", () => console.log(`READY ${port}`));
    });
});

process.stdin.resume().on("end", () => process.exit(0));
