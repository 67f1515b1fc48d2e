using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.ModelBinding.Metadata;
using NodaTime;

namespace School.Web.Platform.Forms;

/// <summary>How forms read dates and times, and the sentences they answer with.</summary>
internal static class FormSetup
{
    public static void Apply(MvcOptions options)
    {
        options.ModelBinderProviders.Insert(0, new NodaTimeBinders());
        options.ModelMetadataDetailsProviders.Add(new SuppressChildValidationMetadataProvider(typeof(LocalDate)));
        options.ModelMetadataDetailsProviders.Add(new SuppressChildValidationMetadataProvider(typeof(LocalTime)));
        options.ModelMetadataDetailsProviders.Add(new RequiredSentences());

        var sentences = options.ModelBindingMessageProvider;
        sentences.SetValueMustNotBeNullAccessor(_ => "Fill this in");
        sentences.SetMissingBindRequiredValueAccessor(_ => "Fill this in");
        sentences.SetMissingKeyOrValueAccessor(() => "Fill this in");
        sentences.SetMissingRequestBodyRequiredValueAccessor(() => "Nothing was sent");
        sentences.SetValueMustBeANumberAccessor(_ => "Enter a number, such as 60");
        sentences.SetNonPropertyValueMustBeANumberAccessor(() => "Enter a number, such as 60");
        sentences.SetAttemptedValueIsInvalidAccessor((value, _) => NotUnderstood(value));
        sentences.SetNonPropertyAttemptedValueIsInvalidAccessor(NotUnderstood);
        sentences.SetValueIsInvalidAccessor(NotUnderstood);
        sentences.SetUnknownValueIsInvalidAccessor(_ => "This value cannot be used here");
        sentences.SetNonPropertyUnknownValueIsInvalidAccessor(() => "This value cannot be used here");
    }

    private static string NotUnderstood(string value) =>
        string.IsNullOrWhiteSpace(value) ? "Fill this in" : $"“{value}” cannot be used here";

    private sealed class NodaTimeBinders : IModelBinderProvider
    {
        private readonly LocalDateBinder dates = new();
        private readonly LocalTimeBinder times = new();

        public IModelBinder? GetBinder(ModelBinderProviderContext context)
        {
            var type = context.Metadata.UnderlyingOrModelType;
            return type == typeof(LocalDate) ? dates : type == typeof(LocalTime) ? times : null;
        }
    }

    private sealed class RequiredSentences : IValidationMetadataProvider
    {
        public void CreateValidationMetadata(ValidationMetadataProviderContext context)
        {
            foreach (var required in context.ValidationMetadata.ValidatorMetadata.OfType<RequiredAttribute>())
            {
                if (required.ErrorMessage is null && required.ErrorMessageResourceName is null)
                {
                    required.ErrorMessage = "Fill this in";
                }
            }
        }
    }
}
