using Microsoft.AspNetCore.Authorization;
using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>
/// What an address asks of those who use it. Every address that says nothing asks for <see cref="View"/>, and one of a page for <see cref="Operate"/> where a form is
/// sent to it (<see cref="FormNeedsAttribute"/>).
/// </summary>
public static class Policies
{
    public const string View = "view";
    public const string Operate = "operate";

    /// <summary>What QA decides.</summary>
    public const string Judge = "judge";
    public const string Administer = "administer";

    /// <summary>What each asks for.</summary>
    internal static IReadOnlyDictionary<string, Role> Least { get; } = new Dictionary<string, Role>(StringComparer.Ordinal)
    {
        [View] = Role.Viewer,
        [Operate] = Role.Operator,
        [Judge] = Role.Qa,
        [Administer] = Role.Administrator,
    };

    internal static void Add(AuthorizationOptions options)
    {
        foreach (var (name, role) in Least)
        {
            options.AddPolicy(name, p => p.RequireAuthenticatedUser().AddRequirements(new LeastRole(role)));
        }

        options.DefaultPolicy = options.GetPolicy(View)!;
        options.FallbackPolicy = options.DefaultPolicy;
    }
}

/// <summary>Who may send a form to this page. Without it: operators and those above them. The page itself says with <c>[Authorize]</c> who may look at it.</summary>
[AttributeUsage(AttributeTargets.Class)]
public sealed class FormNeedsAttribute(Role least) : Attribute
{
    public Role Least => least;
}

/// <summary>The least role that is asked for.</summary>
internal sealed record LeastRole(Role Role) : IAuthorizationRequirement;

/// <summary>Reading and sending to the same page may ask for different roles.</summary>
internal sealed class LeastRoleHandler : AuthorizationHandler<LeastRole>
{
    protected override Task HandleRequirementAsync(AuthorizationHandlerContext context, LeastRole requirement)
    {
        var least = requirement.Role;
        if (context.Resource is HttpContext http && FormRole(http) is { } form && form > least)
        {
            least = form;
        }

        if (CurrentUser.Of(context.User).May(least))
        {
            context.Succeed(requirement);
        }

        return Task.CompletedTask;
    }

    /// <summary>Null: nothing is sent.</summary>
    private static Role? FormRole(HttpContext http) =>
        HttpMethods.IsGet(http.Request.Method) || HttpMethods.IsHead(http.Request.Method) || http.GetEndpoint() is not { } endpoint || endpoint.Metadata.GetMetadata<Microsoft.AspNetCore.Components.Endpoints.ComponentTypeMetadata>() is not { } page
            ? null
            : (Attribute.GetCustomAttribute(page.Type, typeof(FormNeedsAttribute)) as FormNeedsAttribute)?.Least ?? Role.Operator;
}
