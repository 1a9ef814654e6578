/* The libmodbus client.
 *   libmodbus_client PORT check            reads all four tables and tries what must be refused; prints OK or what was wrong
 *   libmodbus_client PORT bench SECONDS    reads 100 registers again and again; prints requests a second and microseconds of processor time each */
#include <errno.h>
#include <modbus/modbus.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

static int failures;

static void expect(int is_true, const char *what)
{
    if (!is_true) {
        failures++;
        printf("WRONG %s (%s)\n", what, modbus_strerror(errno));
    }
}

static int are_addresses(const uint16_t *registers, int first, int count)
{
    for (int i = 0; i < count; i++)
        if (registers[i] != first + i)
            return 0;
    return 1;
}

static int are_odd(const uint8_t *bits, int first, int count)
{
    for (int i = 0; i < count; i++)
        if (bits[i] != ((first + i) & 1))
            return 0;
    return 1;
}

static int check(modbus_t *context)
{
    uint16_t registers[MODBUS_MAX_READ_REGISTERS];
    uint8_t bits[MODBUS_MAX_READ_BITS];
    expect(modbus_read_registers(context, 100, 125, registers) == 125 && are_addresses(registers, 100, 125), "125 holding registers");
    expect(modbus_read_input_registers(context, 7, 1, registers) == 1 && are_addresses(registers, 7, 1), "1 input register");
    expect(modbus_read_bits(context, 3, 1997, bits) == 1997 && are_odd(bits, 3, 1997), "1,997 coils");
    expect(modbus_read_input_bits(context, 0, 2000, bits) == 2000 && are_odd(bits, 0, 2000), "2,000 discrete inputs");
    expect(modbus_read_registers(context, 60000, 1, registers) == -1 && errno == EMBXILADD, "refusal of an address");
    expect(modbus_write_register(context, 1, 1) == -1 && errno == EMBXILFUN, "refusal to write a register");
    expect(modbus_write_registers(context, 1, 2, registers) == -1 && errno == EMBXILFUN, "refusal to write registers");
    expect(modbus_write_bit(context, 1, 1) == -1 && errno == EMBXILFUN, "refusal to write a coil");
    expect(modbus_write_bits(context, 1, 2, bits) == -1 && errno == EMBXILFUN, "refusal to write coils");
    expect(modbus_mask_write_register(context, 1, 1, 1) == -1 && errno == EMBXILFUN, "refusal to mask");
    expect(modbus_read_registers(context, 100, 2, registers) == 2 && are_addresses(registers, 100, 2), "two registers after all that");
    if (failures == 0)
        printf("OK\n");
    return failures;
}

static double seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec + now.tv_nsec / 1e9;
}

static double processor_now(void)
{
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return usage.ru_utime.tv_sec + usage.ru_stime.tv_sec + (usage.ru_utime.tv_usec + usage.ru_stime.tv_usec) / 1e6;
}

static int bench(modbus_t *context, double seconds)
{
    uint16_t registers[100];
    long count = 0;
    for (int i = 0; i < 1000; i++)
        modbus_read_registers(context, 0, 100, registers);
    double began = seconds_now();
    double used = processor_now();
    double elapsed;
    do {
        if (modbus_read_registers(context, 0, 100, registers) != 100 || !are_addresses(registers, 0, 100))
            return 1;
        count++;
        elapsed = seconds_now() - began;
    } while (elapsed < seconds);
    printf("%.0f %.2f\n", count / elapsed, (processor_now() - used) * 1e6 / count);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc < 3)
        return 2;
    modbus_t *context = modbus_new_tcp("127.0.0.1", atoi(argv[1]));
    modbus_set_slave(context, 1);
    if (modbus_connect(context) != 0) {
        printf("cannot connect: %s\n", modbus_strerror(errno));
        return 1;
    }
    int result = strcmp(argv[2], "bench") == 0 && argc > 3 ? bench(context, atof(argv[3])) : check(context);
    modbus_close(context);
    modbus_free(context);
    return result;
}
