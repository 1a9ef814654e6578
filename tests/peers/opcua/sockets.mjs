// What happens to a server's connections outside the protocol.

/** Keeps hold of the raw sockets that the endpoints accept. */
export class Sockets {
    #live = new Set();

    watch(server) {
        for (const endpoint of server.endpoints) {
            endpoint._server.on("connection", (socket) => {
                this.#live.add(socket);
                socket.on("close", () => this.#live.delete(socket));
            });
        }
    }

    get count() {
        return this.#live.size;
    }

    /** fin closes, rst resets, stall keeps the connections open but neither reads nor writes. */
    drop(kind) {
        const sockets = [...this.#live];
        for (const socket of sockets) {
            if (kind === "rst") socket.resetAndDestroy();
            else if (kind === "stall") stall(socket);
            else if (kind === "fin") { socket.end(); socket.destroy(); }
            else throw new Error(`drop ${kind}: fin, rst or stall`);
        }
        return sockets.length;
    }
}

function stall(socket) {
    socket.pause();
    socket.removeAllListeners("data");
    socket.write = () => true;
}
