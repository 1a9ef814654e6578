"""pymodbus_client.py PORT: reads all four tables and tries what must be refused; prints OK or what was wrong."""
import sys

from pymodbus.client import ModbusTcpClient
from pymodbus.mei_message import ReadDeviceInformationRequest

failures = 0


def expect(is_true, what):
    global failures
    if not is_true:
        failures += 1
        print("WRONG", what)


def is_exception(reply, code):
    return reply.isError() and getattr(reply, "exception_code", None) == code


client = ModbusTcpClient("127.0.0.1", port=int(sys.argv[1]))
expect(client.connect(), "connection")
expect(client.read_holding_registers(100, 125, slave=1).registers == list(range(100, 225)), "125 holding registers")
expect(client.read_input_registers(7, 1, slave=255).registers == [7], "1 input register")
expect(client.read_coils(3, 1997, slave=1).bits[:1997] == [i % 2 == 1 for i in range(3, 2000)], "1,997 coils")
expect(client.read_discrete_inputs(0, 2000, slave=1).bits == [i % 2 == 1 for i in range(2000)], "2,000 discrete inputs")
expect(is_exception(client.read_holding_registers(60000, 1, slave=1), 2), "refusal of an address")
expect(is_exception(client.write_register(1, 1, slave=1), 1), "refusal to write a register")
expect(is_exception(client.write_registers(1, [1, 2], slave=1), 1), "refusal to write registers")
expect(is_exception(client.write_coil(1, True, slave=1), 1), "refusal to write a coil")
expect(is_exception(client.write_coils(1, [True] * 3, slave=1), 1), "refusal to write coils")
expect(is_exception(client.readwrite_registers(read_address=1, read_count=1, write_address=1, write_registers=[1], slave=1), 1), "refusal to read and write")
identity = client.execute(ReadDeviceInformationRequest(read_code=1, object_id=0, slave=1))
expect(not identity.isError() and identity.information == {0: b"WashBridge", 1: b"Test", 2: b"1.0"}, "identification")
client.close()
print("OK" if failures == 0 else f"{failures} wrong")
sys.exit(failures)
