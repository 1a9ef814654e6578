// JSON lines over standard input and output. The library logs through console: that goes to standard error.
import readline from "node:readline";

for (const method of ["log", "info", "warn", "debug"]) console[method] = (...what) => console.error(...what);

/** The options given as one JSON argument over the defaults. An unknown key is an error. */
export function optionsFrom(defaults) {
    const given = JSON.parse(process.argv[2] ?? "{}");
    for (const key of Object.keys(given)) {
        if (!(key in defaults)) throw new Error(`unknown option ${key}; known: ${Object.keys(defaults).join(", ")}`);
    }
    return { ...defaults, ...given };
}

export const print = (text) => process.stdout.write(text + "\n");
export const answer = (what) => print(JSON.stringify(what));
export const event = (name, details = {}) => console.error(JSON.stringify({ event: name, ...details }));

/** Hands each line to the handler, one after the other, and answers its result or {"error"}. Calls end when the input ends. */
export async function serveLines(handle, end) {
    for await (const line of readline.createInterface({ input: process.stdin })) {
        if (line.trim() === "") continue;
        try {
            answer((await handle(line)) ?? {});
        } catch (error) {
            answer({ error: String(error?.message ?? error).split("\n")[0] });
        }
    }
    await end();
}
