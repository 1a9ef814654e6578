namespace WashBridge.Browsing;

/// <summary>What a person wants to see of a server.</summary>
/// <param name="Target">A site file, or the address of a server.</param>
/// <param name="Washer">Of the site; null: the only one.</param>
/// <param name="Find">Texts that a name must hold, all of them.</param>
/// <param name="Below">Where to begin; null: the Objects folder.</param>
/// <param name="Yaml">Tag map entries instead of a table.</param>
/// <param name="Limit">Nodes to visit at most.</param>
/// <param name="Mode">Security mode, with an address; null: SignAndEncrypt.</param>
/// <param name="Pki">Folder of certificates, with an address.</param>
internal sealed record BrowseRequest(string Target, string? Washer, IReadOnlyList<string> Find, string? Below, bool Yaml, int Limit, string? Mode, string Pki);
