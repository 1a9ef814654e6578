using System.Security.Cryptography;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>RSA keys made once for all tests, because making them is slow.</summary>
internal static class Keys
{
    private static readonly Lazy<RSA> FirstKey = new(() => RSA.Create(2048));
    private static readonly Lazy<RSA> SecondKey = new(() => RSA.Create(2048));
    private static readonly Lazy<RSA> OddKey = new(() => RSA.Create(3072));

    public static RSA First => FirstKey.Value;

    public static RSA Second => SecondKey.Value;

    public static RSA Of3072Bits => OddKey.Value;

    public static TheoryData<string> SecurePolicies => [.. SecurityPolicy.All.Where(policy => !policy.IsNone).Select(policy => policy.Name)];

    public static SecurityPolicy Policy(string name) => SecurityPolicy.FindByName(name)!;
}
