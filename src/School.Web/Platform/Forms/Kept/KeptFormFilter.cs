using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Abstractions;
using Microsoft.AspNetCore.Mvc.Filters;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.RazorPages.Infrastructure;
using School.Web.Platform.Access;

namespace School.Web.Platform.Forms.Kept;

/// <summary>
/// Shows a kept form again: its page as it is now, with what was typed in its fields. It is bound as if it had been sent, and nothing is carried out;
/// its sender looks at it and presses again. Once that is done, it is forgotten.
/// </summary>
internal sealed class KeptFormFilter(ParameterBinder binder, IModelBinderFactory binders, IModelMetadataProvider metadata) : IAsyncPageFilter
{
    public Task OnPageHandlerSelectionAsync(PageHandlerSelectedContext context) => Task.CompletedTask;

    public async Task OnPageHandlerExecutionAsync(PageHandlerExecutingContext context, PageHandlerExecutionDelegate next)
    {
        var (http, cancel) = (context.HttpContext, context.HttpContext.RequestAborted);
        var done = await next();
        if (!Guid.TryParse(http.Request.Query[KeptForms.Query], out var id) || Viewer.From(http.User) is not { } viewer)
        {
            return;
        }

        var kept = http.RequestServices.GetRequiredService<KeptForms>();
        var shows = done.Result is null or PageResult;
        if (HttpMethods.IsPost(http.Request.Method) && !shows)
        {
            await kept.ForgetAsync(viewer.PersonId, id, cancel);
        }
        else if (HttpMethods.IsGet(http.Request.Method) && shows && done.HandlerInstance is PageModel page && await kept.FindAsync(viewer.PersonId, id, http.Request.Path, cancel) is { } form)
        {
            await FillAsync(page, context.ActionDescriptor, form);
            page.ViewData[KeptForms.Query] = true;
        }
    }

    private async Task FillAsync(PageModel page, CompiledPageActionDescriptor descriptor, IFormCollection form)
    {
        var values = new FormValueProvider(BindingSource.Form, form, System.Globalization.CultureInfo.InvariantCulture);
        foreach (var property in descriptor.BoundProperties.OfType<PageBoundPropertyDescriptor>().Where(property => values.ContainsPrefix(property.Name)))
        {
            var shape = metadata.GetMetadataForProperty(descriptor.HandlerTypeInfo, property.Name);
            // A form is bound when it is sent, and this one was.
            var info = property.BindingInfo is { } own ? new BindingInfo(own) { RequestPredicate = null } : null;
            var sent = new ParameterDescriptor { Name = property.Name, ParameterType = property.ParameterType, BindingInfo = info };
            var how = binders.CreateBinder(new ModelBinderFactoryContext { BindingInfo = info, Metadata = shape, CacheToken = property });
            var bound = await binder.BindModelAsync(page.PageContext, how, values, sent, shape, property.Property.GetValue(page));
            if (bound.IsModelSet)
            {
                property.Property.SetValue(page, bound.Model);
            }
        }

        // What is wrong with it is told once it is sent.
        foreach (var (_, entry) in page.ModelState)
        {
            entry.Errors.Clear();
            entry.ValidationState = ModelValidationState.Unvalidated;
        }
    }
}
