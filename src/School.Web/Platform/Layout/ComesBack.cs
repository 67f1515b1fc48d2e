using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Filters;

namespace School.Web.Platform.Layout;

/// <summary>
/// A page that was opened from the first steps leads back to them once its form is done, whichever page it would lead to otherwise. The address is ours
/// alone: what a link says is only that it came from there.
/// </summary>
internal sealed class ComesBack : IAsyncPageFilter
{
    public const string Key = "back";
    public const string FirstSteps = "first-steps";
    public const string Page = "/office/first-steps";

    /// <summary>The same page, known to be opened from the first steps.</summary>
    public static string From(string page) => page.Split('#', 2) is [var before, .. var after]
        ? $"{before}{(before.Contains('?', StringComparison.Ordinal) ? '&' : '?')}{Key}={FirstSteps}{(after is [var part] ? $"#{part}" : "")}" : page;

    public static bool IsFrom(HttpRequest request) => request.Query[Key] == FirstSteps;

    public Task OnPageHandlerSelectionAsync(PageHandlerSelectedContext context) => Task.CompletedTask;

    public async Task OnPageHandlerExecutionAsync(PageHandlerExecutingContext context, PageHandlerExecutionDelegate next)
    {
        var done = await next();
        if (HttpMethods.IsPost(context.HttpContext.Request.Method) && IsFrom(context.HttpContext.Request) && done.Result is (LocalRedirectResult or RedirectToPageResult or RedirectResult))
        {
            done.Result = new LocalRedirectResult(Page);
        }
    }
}
