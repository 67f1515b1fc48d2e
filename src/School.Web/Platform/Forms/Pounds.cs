using Microsoft.AspNetCore.Mvc.ModelBinding;
using School.Core.Accounts;

namespace School.Web.Platform.Forms;

/// <summary>An amount as a form shows and reads it: pounds and pence.</summary>
internal readonly record struct Pounds(long Pence) : IFormattable
{
    public string ToString(string? format, IFormatProvider? formatProvider) => $"{Pence / 100}.{Pence % 100:00}";
}

/// <summary>Binds an amount as people write it.</summary>
internal sealed class PoundsBinder : IModelBinder
{
    public const string NotReal = "Enter pounds, or pounds and pence, such as 36 or 36.50";

    public Task BindModelAsync(ModelBindingContext bindingContext)
    {
        var name = bindingContext.ModelName;
        var value = bindingContext.ValueProvider.GetValue(name);
        if (value == ValueProviderResult.None)
        {
            return Task.CompletedTask;
        }

        bindingContext.ModelState.SetModelValue(name, value);
        if (string.IsNullOrWhiteSpace(value.FirstValue))
        {
            bindingContext.Result = ModelBindingResult.Success(null);
        }
        else if (Pence.TryParse(value.FirstValue, out var pence))
        {
            bindingContext.Result = ModelBindingResult.Success(new Pounds(pence));
        }
        else
        {
            bindingContext.ModelState.TryAddModelError(name, NotReal);
        }

        return Task.CompletedTask;
    }
}
