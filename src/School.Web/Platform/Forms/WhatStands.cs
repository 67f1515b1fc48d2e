using System.Collections;
using System.Reflection;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Filters;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.RazorPages.Infrastructure;
using Microsoft.AspNetCore.Mvc.Rendering;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Forms;

/// <summary>
/// Marks a page whose fields are all drawn by our own: when somebody else's change came in between, each field that differs says what is kept now, and
/// pressing again keeps what was typed. Without the mark the page is refused until it is opened anew.
/// </summary>
[AttributeUsage(AttributeTargets.Class)]
internal sealed class ShowsWhatStandsAttribute : Attribute;

/// <summary>The page as it would be if it were opened now, beside the one that came back.</summary>
internal sealed class WhatStands(object page)
{
    private const string Version = "Version";

    public static WhatStands? In(ViewContext view) => view.HttpContext.Items[typeof(WhatStands)] as WhatStands;

    /// <summary>The value under a field's name; false where there is no such.</summary>
    public bool TryFind(string name, out object? value)
    {
        value = page;
        foreach (var step in name.Split('.'))
        {
            var at = step.IndexOf('[', StringComparison.Ordinal);
            if (value?.GetType().GetProperty(at < 0 ? step : step[..at]) is not { } property)
            {
                return false;
            }

            value = property.GetValue(value);
            if (at >= 0 && !(int.TryParse(step[(at + 1)..].TrimEnd(']'), out var index) && value is IList list && index < list.Count && Take(list[index], out value)))
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>Finds it for a page that was refused as stale, and lets its form be of the version that is shown.</summary>
    internal sealed class Filter : IAsyncPageFilter
    {
        public Task OnPageHandlerSelectionAsync(PageHandlerSelectedContext context) => Task.CompletedTask;

        public async Task OnPageHandlerExecutionAsync(PageHandlerExecutingContext context, PageHandlerExecutionDelegate next)
        {
            var done = await next();
            if (done.Result is not (null or PageResult) || done.HandlerInstance is not PageModel came || came.ModelState.Refusal()?.Kind is not RefusalKind.Stale)
            {
                return;
            }

            context.HttpContext.Items[typeof(Refusal)] = $"{context.HttpContext.Request.Path}{context.HttpContext.Request.QueryString}";
            if (came.GetType().GetCustomAttribute<ShowsWhatStandsAttribute>() is null || await AnewAsync(context, came) is not { } now)
            {
                return;
            }

            var stands = new WhatStands(now);
            foreach (var name in (ReadOnlySpan<string>)[Version, $"Input.{Version}"])
            {
                if (stands.TryFind(name, out var version) && came.ModelState.Remove(name))
                {
                    Set(came, name.Split('.'), version);
                    context.HttpContext.Items[typeof(WhatStands)] = stands;
                }
            }
        }

        private static void Set(object page, string[] path, object? value)
        {
            var owner = path is [var within, _] ? page.GetType().GetProperty(within)!.GetValue(page)! : page;
            owner.GetType().GetProperty(path[^1])!.SetValue(owner, value);
        }

        private static async Task<PageModel?> AnewAsync(PageHandlerExecutingContext context, PageModel came)
        {
            var type = came.GetType();
            if (type.GetMethod("OnGetAsync") is not { } opens)
            {
                return null;
            }

            var now = (PageModel)ActivatorUtilities.CreateInstance(context.HttpContext.RequestServices, type);
            now.PageContext = new(new(context.HttpContext, context.RouteData, context.ActionDescriptor)) { ViewData = new(new EmptyModelMetadataProvider(), new()) };
            foreach (var property in context.ActionDescriptor.BoundProperties.OfType<PageBoundPropertyDescriptor>())
            {
                if (property.Property.GetCustomAttribute<BindPropertyAttribute>() is { SupportsGet: true })
                {
                    property.Property.SetValue(now, property.Property.GetValue(came));
                }
            }

            object?[] given = [.. opens.GetParameters().Select(parameter => parameter.ParameterType == typeof(CancellationToken) ? context.HttpContext.RequestAborted
                : context.HandlerArguments.TryGetValue(parameter.Name!, out var value) ? value : null)];
            var opened = (Task)opens.Invoke(now, given)!;
            await opened;
            return opened is Task<IActionResult> { Result: not PageResult } ? null : now;
        }
    }

    private static bool Take(object? item, out object? value)
    {
        value = item;
        return true;
    }
}
