using System.Globalization;

namespace WashBridge.Web.Pages.Recipes;

/// <summary>Addresses of the recipe pages.</summary>
internal static class RecipeAddress
{
    public static string Of(string id) => $"recipes/{Uri.EscapeDataString(id)}";

    public static string Of(string id, int version) => $"{Of(id)}/{version.ToString(CultureInfo.InvariantCulture)}";

    public static string Edit(string id, int version, bool asText = false) => $"{Of(id, version)}/edit{(asText ? "?as=text" : "")}";

    public static string File(string id, int version) => $"{Of(id, version)}/{Uri.EscapeDataString(id)}-{version.ToString(CultureInfo.InvariantCulture)}.yaml";

    public static string Again(string id, int version) => $"{Of(id, version)}/again";

    public static string Compare(string id, int left, int right) => string.Create(CultureInfo.InvariantCulture, $"{Of(id)}/compare?left={left}&right={right}");
}
