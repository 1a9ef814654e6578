// An OpenID Connect provider (the npm library oidc-provider) on a free loopback port. Its one argument is JSON: {"redirect": "http://..."}, the address that the
// client "washbridge" with the secret "a-secret-for-tests" may be sent back to; PKCE is demanded. Prints "READY <port>". Reads JSON lines: {"account": {...claims}} says
// who logs in from now on, without being asked; answers {"ok": true}. {"seen": true} answers what was asked at the authorization endpoint last. Ends when its
// standard input does.
import { Provider } from "oidc-provider";
import http from "node:http";
import { optionsFrom, serveLines } from "./opcua/lines.mjs";

const options = optionsFrom({ redirect: "" });
let account = { sub: "1", name: "K. Wash", groups: [] };
let seen = null;

const server = http.createServer();
await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
const port = server.address().port;
const provider = new Provider(`http://127.0.0.1:${port}`, {
    clients: [{ client_id: "washbridge", client_secret: "a-secret-for-tests", redirect_uris: [options.redirect], grant_types: ["authorization_code"], response_types: ["code"] }],
    pkce: { required: () => true },
    cookies: { keys: ["only for tests"] },
    claims: { openid: ["sub"], profile: ["name", "groups"] },
    // What is asked for stands in the address, where tests see it, and is not pushed beforehand.
    features: { devInteractions: { enabled: false }, pushedAuthorizationRequests: { enabled: false } },
    interactions: { url: (_, interaction) => `/interaction/${interaction.uid}` },
    findAccount: (_, id) => ({ accountId: id, claims: () => ({ ...account, sub: id }) }),
    loadExistingGrant: async (context) => {
        const grant = new context.oidc.provider.Grant({ clientId: context.oidc.client.clientId, accountId: context.oidc.session.accountId });
        grant.addOIDCScope("openid profile");
        await grant.save();
        return grant;
    },
});

server.on("request", async (request, response) => {
    const url = new URL(request.url, `http://127.0.0.1:${port}`);
    if (url.pathname === "/auth") seen = Object.fromEntries(url.searchParams);
    if (url.pathname.startsWith("/interaction/")) {
        await provider.interactionFinished(request, response, { login: { accountId: account.sub } }, { mergeWithLastSubmission: false });
        return;
    }
    provider.callback()(request, response);
});

process.stdout.write(`READY ${port}\n`);
await serveLines(
    (line) => {
        const told = JSON.parse(line);
        if (told.account) account = told.account;
        return told.seen ? { seen } : { ok: true };
    },
    () => process.exit(0),
);
