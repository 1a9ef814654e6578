using WashBridge.Web.Accounts;

namespace WashBridge.Web;

/// <summary>Who has a password that somebody else chose can do nothing but choose another, or log out.</summary>
internal static class PasswordFirst
{
    public static Task CheckAsync(HttpContext context, Func<Task> next)
    {
        var request = context.Request;
        if (!CurrentUser.Of(context).MustChangePassword || request.Path.StartsWithSegments(SessionCookie.AccountPath) || request.Path.StartsWithSegments("/logout")
            || context.GetEndpoint()?.Metadata.GetMetadata<Microsoft.AspNetCore.Authorization.IAllowAnonymous>() is not null)
        {
            return next();
        }

        if (HttpMethods.IsGet(request.Method))
        {
            context.Response.Redirect(SessionCookie.AccountPath);
            return Task.CompletedTask;
        }

        return Refusals.WriteAsync(context, StatusCodes.Status403Forbidden, $"the password must be changed first, at {SessionCookie.AccountPath}");
    }
}
