"""A pymodbus server on a free loopback port: registers hold their address, odd bits are set, 2,000 of each.

Prints "READY <port>". Ends when its standard input does.
"""
import asyncio
import sys

from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.device import ModbusDeviceIdentification
from pymodbus.server.async_io import ModbusTcpServer

COUNT = 2000


async def main():
    bits = [i % 2 == 1 for i in range(COUNT)]
    tables = ModbusSlaveContext(
        di=ModbusSequentialDataBlock(0, bits),
        co=ModbusSequentialDataBlock(0, list(bits)),
        hr=ModbusSequentialDataBlock(0, list(range(COUNT))),
        ir=ModbusSequentialDataBlock(0, list(range(COUNT))),
        zero_mode=True,
    )
    identity = ModbusDeviceIdentification(
        info_name={"VendorName": "Test peer", "ProductCode": "TP", "MajorMinorRevision": "1.2"}
    )
    server = ModbusTcpServer(ModbusServerContext(slaves=tables, single=True), identity=identity, address=("127.0.0.1", 0))
    serving = asyncio.ensure_future(server.serve_forever())
    await server.serving
    print("READY", server.server.sockets[0].getsockname()[1], flush=True)
    await asyncio.get_running_loop().run_in_executor(None, sys.stdin.read)
    serving.cancel()


asyncio.run(main())
