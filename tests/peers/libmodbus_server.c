/* A libmodbus server on a free loopback port: registers hold their address, odd bits are set, 2,000 of each.
 * Prints "READY <port>". Ends when its standard input does. */
#include <modbus/modbus.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <stdio.h>
#include <sys/select.h>
#include <sys/socket.h>
#include <unistd.h>

enum { COUNT = 2000 };

static int port_of(int listener)
{
    struct sockaddr_in address;
    socklen_t length = sizeof address;
    return getsockname(listener, (struct sockaddr *)&address, &length) == 0 ? ntohs(address.sin_port) : -1;
}

static void accept_client(int listener, fd_set *watched, int *highest)
{
    int on = 1;
    int client = accept(listener, NULL, NULL);
    if (client < 0)
        return;
    setsockopt(client, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    FD_SET(client, watched);
    if (client > *highest)
        *highest = client;
}

int main(void)
{
    modbus_t *context = modbus_new_tcp("127.0.0.1", 0);
    modbus_mapping_t *map = modbus_mapping_new(COUNT, COUNT, COUNT, COUNT);
    if (context == NULL || map == NULL)
        return 1;
    for (int i = 0; i < COUNT; i++) {
        map->tab_registers[i] = map->tab_input_registers[i] = i;
        map->tab_bits[i] = map->tab_input_bits[i] = i & 1;
    }

    int listener = modbus_tcp_listen(context, 16);
    if (listener < 0) {
        perror("listen");
        return 1;
    }
    printf("READY %d\n", port_of(listener));
    fflush(stdout);

    fd_set watched;
    FD_ZERO(&watched);
    FD_SET(STDIN_FILENO, &watched);
    FD_SET(listener, &watched);
    int highest = listener;
    for (;;) {
        fd_set ready = watched;
        if (select(highest + 1, &ready, NULL, NULL, NULL) < 0)
            return 1;
        if (FD_ISSET(STDIN_FILENO, &ready)) {
            char ignored[64];
            if (read(STDIN_FILENO, ignored, sizeof ignored) <= 0)
                return 0;
        }
        if (FD_ISSET(listener, &ready))
            accept_client(listener, &watched, &highest);
        for (int client = 0; client <= highest; client++) {
            if (client == STDIN_FILENO || client == listener || !FD_ISSET(client, &ready))
                continue;
            uint8_t request[MODBUS_TCP_MAX_ADU_LENGTH];
            modbus_set_socket(context, client);
            int length = modbus_receive(context, request);
            if (length > 0) {
                modbus_reply(context, request, length, map);
            } else if (length < 0) {
                close(client);
                FD_CLR(client, &watched);
            }
        }
    }
}
