using System.Security.Cryptography;
using System.Text;

namespace WashBridge.Core.Recipes.Book;

/// <summary>Whether two recipes ask the same: to the byte of their JSON, whatever the order of their setpoints.</summary>
public static class RecipeContent
{
    private const int FingerprintBytes = 8;

    public static bool Same(Recipe a, Recipe b) => Canonical(a) == Canonical(b);

    /// <summary>16 hexadecimal digits: the first of the SHA-256 of its JSON. The same content has the same one.</summary>
    public static string Fingerprint(Recipe recipe) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(Canonical(recipe))).AsSpan(0, FingerprintBytes));

    private static string Canonical(Recipe recipe)
    {
        ArgumentNullException.ThrowIfNull(recipe);
        return WashJson.Write(recipe with { Setpoints = new SortedDictionary<string, ApprovedSetpoint>(recipe.Setpoints.ToDictionary(), StringComparer.Ordinal) });
    }
}
